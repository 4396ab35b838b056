"""What an importer hands back: the report on the columns, and the map that says it again."""

import io
import re

import numpy as np
import pytest
from hypothesis import given, settings

from ridelog.errors import ColumnQuestionError
from ridelog.importers.delimited import read as delimited
from ridelog.settings.column_map import read_map
from tests.importers.delimited.logs import log, read, written


def test_the_map_of_two_joined_columns_joins_them_again():
    text = log("time (s),regen current (A),current drawn (A)", lambda k: f"{k},{k % 3},{k % 7}")
    column_map = read_map(io.BytesIO(delimited.read_log(text.encode(), "b.csv", "").report.to_toml().encode()))
    again = read(text, column_map).frame["current_a"]
    # worked by hand: drawn less returned in the rows 0, 1, 5 and 8
    assert again.iloc[[0, 1, 5, 8]].tolist() == [0, 0, 3, -1]
    assert again.equals(read(text).frame["current_a"])


@settings(max_examples=50)
@given(written())
def test_the_map_that_a_report_writes_reads_the_log_as_before(content):
    column_map = read_map(io.BytesIO(delimited.read_log(content, "b.csv", "").report.to_toml().encode()))
    again, before = read(content, column_map), read(content)
    assert list(again.frame) == list(before.frame)
    assert np.array_equal(again.frame.to_numpy(), before.frame.to_numpy())
    assert np.array_equal(again.time_s, before.time_s)


def test_the_report_shows_every_column_in_order_with_its_reason():
    report = delimited.read_log(
        log("mode,time (s),U (mV)", lambda k: f"eco {k},{k},48000").encode(), "b.csv", ""
    ).report
    assert [reading.header for reading in report.readings] == ["mode", "time (s)", "U (mV)"]
    mode, time, volts = report.readings
    assert (mode.channel, time.channel, volts.channel) == (None, "time_s", "voltage_v")
    assert (volts.unit, volts.factor, volts.sign) == ("mV", 0.001, 1)
    assert all(reading.why for reading in report.readings)
    assert report.clock == "elapsed time, 60 samples over 59.0 s"
    assert any("separated by comma" in fact for fact in report.facts)
    assert not report.questions
    assert not report.blocked


def test_the_map_of_an_open_question_holds_the_answer_as_a_comment():
    content = log("time (s),current", lambda k: f"{k},{k % 5}")
    text = delimited.read_log(content.encode(), "b.csv", "").report.to_toml()
    assert "# Question: 'current' states no unit" in text
    with pytest.raises(ColumnQuestionError):
        read(content, read_map(io.BytesIO(text.encode())))
    answered = re.sub(r"^# (\[\[column|header =|quantity =|unit =|sign =)", r"\1", text, flags=re.MULTILINE)
    assert read(content, read_map(io.BytesIO(answered.encode()))).frame["current_a"].iloc[2] == 2


def test_a_header_too_long_for_a_map_is_left_out_of_it_and_the_map_reads_the_log_as_before():
    content = log(f"time (s),battery current (A),{'x' * 501}", lambda k: f"{k},{k % 5},{k}")
    report = delimited.read_log(content.encode(), "b.csv", "").report
    column_map = read_map(io.BytesIO(report.to_toml().encode()))
    assert [each.header for each in column_map.column] == ["time (s)", "battery current (A)"]
    assert list(read(content, column_map).frame) == list(read(content).frame)


def test_the_map_of_a_column_that_a_map_turned_turns_it_again():
    """A height logged as a depth; only currents and powers were written with their sign."""
    text = log("time (s),depth (m)", lambda k: f"{k},{k}")
    turned = b'[[column]]\nheader = "depth (m)"\nquantity = "altitude"\nsign = -1\n'
    report = delimited.read_log(text.encode(), "b.csv", "", read_map(io.BytesIO(turned))).report
    again = read(text, read_map(io.BytesIO(report.to_toml().encode())))
    assert again.frame["altitude_m"].iloc[3] == -3


def test_the_map_of_the_one_column_without_a_name_reads_it_again():
    text = log("time (s),U (V),", lambda k: f"{k},50,{100 + k}")
    columns = read_map(io.BytesIO(b'[[column]]\nheader = ""\nquantity = "altitude"\nunit = "m"\n'))
    report = delimited.read_log(text.encode(), "b.csv", "", columns).report
    again = read(text, read_map(io.BytesIO(report.to_toml().encode())))
    assert again.frame["altitude_m"].iloc[3] == 103


def test_of_two_columns_without_a_name_the_map_says_nothing():
    text = log("time (s),U (V),,", lambda k: f"{k},50,{100 + k},{k % 7}")
    assert 'header = ""' not in delimited.read_log(text.encode(), "b.csv", "").report.to_toml()
