"""The column map: read, written, refused with key and line, and applied."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.settings.column_map import (
    ColumnEntry,
    ColumnMap,
    ColumnMapError,
    LogSettings,
    read_map,
    require_headers,
)
from ridelog.vocabulary.words import QUANTITIES


def from_text(text: str) -> ColumnMap:
    return read_map(io.BytesIO(text.encode()), name="MAP.toml")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[log]\ndelimeter = ';'\n", "MAP.toml, line 2: unknown key log.delimeter"),
        (
            "[[column]]\nheader = 'a'\n\n[[column]]\nheader = 'b'\nunits = 'A'\n",
            "MAP.toml, line 6: unknown key column.units",
        ),
        ("[colum]\n", "MAP.toml, line 1: unknown key colum"),
        ("[log]\ndecimal = 'x'\n", "MAP.toml, line 2: log.decimal = 'x': allowed is '.' or ','"),
        (
            "[column]\nheader = 'a'\n",
            "MAP.toml, line 1: column = {'header': 'a'}: "
            "tables are allowed, each headed [[column]] on a line of its own",
        ),
        ("log = 3\n", "MAP.toml, line 1: log = 3: a table is allowed, headed [log] on a line of its own"),
        ("[[column]]\nheader = 'a'\nsign = 2\n", "MAP.toml, line 3: column.sign = 2: allowed is -1 or 1"),
        ("[[column]]\nheader = 'a'\nfactor = 0\n", "MAP.toml, line 3: column.factor = 0: more than 0 is allowed"),
        ("[[column]]\nheader = 'a'\nfactor = -0.1\n", "MAP.toml, line 3: column.factor = -0.1: more than 0 is allowed"),
        (
            "[[column]]\nheader = 'a'\nfactor = inf\n",
            "MAP.toml, line 3: column.factor = inf: allowed is a finite number",
        ),
        ("[[column]]\nunit = 'A'\n", "MAP.toml, line 1: column.header: field required"),
        (
            "[[column]]\nheader = 'a'\nunit = 'furlong'\n",
            "MAP.toml, line 3: column.unit = 'furlong': a unit such as A, mA, V, mV, W, km/h, m/s, mph, m, km, s, ms, "
            "°C, Ah or Wh is allowed",
        ),
        (
            "[[column]]\nheader = 'a'\nquantity = 'speed'\nunit = 'A'\n",
            "MAP.toml, line 1: column: speed is not measured in A",
        ),
        (
            "[log]\ntime_zone = 'Mars/Base'\n",
            'MAP.toml, line 2: log.time_zone = \'Mars/Base\': a zone such as "Europe/Lisbon" or "UTC" is allowed',
        ),
        (
            "[log]\nencoding = 'klingon'\n",
            "MAP.toml, line 2: log.encoding = 'klingon': an encoding such as utf-8, utf-16 or latin-1 is allowed",
        ),
        (
            "[log]\nencoding = 'punycode'\n",
            "MAP.toml, line 2: log.encoding = 'punycode': an encoding such as utf-8, utf-16 or latin-1 is allowed",
        ),
    ],
)
def test_a_wrong_key_or_value_is_refused_with_its_line(text, message):
    with pytest.raises(ColumnMapError) as caught:
        from_text(text)
    assert caught.value.message == message


def test_an_unknown_quantity_is_refused_with_those_that_there_are():
    with pytest.raises(ColumnMapError, match="battery current, battery voltage"):
        from_text("[[column]]\nheader = 'a'\nquantity = 'amps'\n")


def test_a_map_that_is_not_toml_or_not_there_is_refused(tmp_path):
    with pytest.raises(ColumnMapError, match=r"MAP\.toml: is not TOML"):
        from_text("time,current\n1,2\n")
    with pytest.raises(ColumnMapError, match=r"MAP\.toml, byte 1: is not UTF-8 text"):
        read_map(io.BytesIO(b"a\xff"), name="MAP.toml")
    with pytest.raises(ColumnMapError, match="no such file or directory"):
        read_map(tmp_path / "none.toml")


def test_the_one_line_form_of_an_answer_is_a_map():
    found = from_text('column = [{ header = "I1", quantity = "battery current", unit = "A" }]  # or mA')
    assert found.entry("I1") == ColumnEntry(header="I1", quantity="battery current", unit="A")
    assert from_text('log = { date_order = "day-month-year" }').log.date_order == "day-month-year"


def test_the_two_ways_to_write_columns_are_not_mixed():
    with pytest.raises(ColumnMapError) as caught:
        from_text("column = [{ header = 'a' }]\n[[column]]\nheader = 'b'\n")
    assert "cannot stand in one file" in (caught.value.hint or "")


entries = st.builds(
    ColumnEntry,
    header=st.text(max_size=20),
    quantity=st.none() | st.sampled_from(sorted(QUANTITIES)),
    sign=st.sampled_from([None, 1, -1]),
    use=st.booleans(),
)
logs = st.builds(
    LogSettings,
    delimiter=st.sampled_from([None, ",", ";", "\t", "|"]),
    decimal=st.sampled_from([None, ".", ","]),
    header_line=st.none() | st.integers(1, 1000),
    signed=st.sampled_from([None, True, False]),
)


@given(st.builds(ColumnMap, log=logs, column=st.lists(entries, max_size=4).map(tuple)))
def test_a_written_map_reads_back_as_it_was(column_map):
    assert read_map(io.BytesIO(column_map.to_toml().encode("utf-8", "surrogatepass"))) == column_map


def test_an_entry_must_name_a_header_of_one_of_the_files():
    column_map = ColumnMap(column=(ColumnEntry(header="I1"), ColumnEntry(header="speed")))
    require_headers(column_map, [("a.csv", ["t", " I1 "]), ("b.csv", ["t", "speed"])], "MAP.toml")
    require_headers(None, [("a.csv", ["t"])], "MAP.toml")
    with pytest.raises(ColumnMapError) as caught:
        require_headers(column_map, [("a.csv", ["t", "I1"])], "MAP.toml")
    assert caught.value.lines() == [
        "MAP.toml: no log has a column headed 'speed'",
        "hint: the columns are a.csv: t, I1",
    ]


def test_a_number_too_large_is_refused_with_the_largest():
    with pytest.raises(ColumnMapError, match=r"log\.header_line = 99999: at most 1000 is allowed"):
        from_text("[log]\nheader_line = 99999\n")
