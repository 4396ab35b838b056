"""Delimited logs: what comes out of them. One known table in many forms; published files; the values' evidence."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.errors import ColumnQuestionError, InputError, RidelogError
from ridelog.importers.delimited import read as delimited
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings, read_map
from tests.importers.delimited.logs import N_ROWS, TRUTH, codes_of, log, read, why, written
from tests.places import REFERENCE

BATT = REFERENCE / "batt"


@settings(max_examples=150)
@given(written())
def test_one_table_gives_one_frame_in_whatever_form_it_is_written(content):
    """The same table, whatever delimiter, decimal sign, encoding, units, order and headers, gives the same frame."""
    assert delimited.recognises(content, "b.csv")
    recording = read(content)
    # tolerance: a unit in the last digit written, at worst 1 mV, 0.5 mA, 0.001 m/s; times are exact to 1e-6 s
    assert recording.time_s == pytest.approx(TRUTH["time"], abs=1e-6)
    for name in ("current_a", "voltage_v", "speed_mps"):
        assert recording.frame[name].to_numpy() == pytest.approx(TRUTH[name], abs=6e-4)


def attempt(content: bytes):
    """The recording, or the error of ours; anything else fails the test that calls."""
    try:
        delimited.recognises(content, "b.csv")
        return read(content)
    except RidelogError as error:
        return error


@settings(max_examples=100)
@given(written(), st.data())
def test_a_damaged_log_is_read_or_refused_in_words(content, data):
    """Truncated anywhere and with bytes replaced, a log gives a recording or an error of ours, nothing else."""
    cut = bytearray(content[: data.draw(st.integers(0, len(content)))])
    for _ in range(data.draw(st.integers(0, 5))):
        if cut:
            cut[data.draw(st.integers(0, len(cut) - 1))] = data.draw(st.integers(0, 255))
    found = attempt(bytes(cut))
    if isinstance(found, RidelogError):
        assert found.message.startswith("b.csv")
    else:
        assert (np.diff(found.time_s) > 0).all()


@settings(max_examples=200)
@given(st.binary(max_size=400) | st.text(alphabet="0123456789.,;:\t|-+ \n\r\"'#%aAvVmsZ°µ/()[]", max_size=400))
def test_any_bytes_are_read_or_refused_in_words(content):
    content = content if isinstance(content, bytes) else content.encode()
    found = attempt(content)
    assert not isinstance(found, RidelogError) or "\n" not in found.message
    if isinstance(found, ColumnQuestionError) or not isinstance(found, RidelogError):
        assert delimited.read_log(content, "b.csv", "").report.to_toml()


# --- published files ---------------------------------------------------------------------------------------


def test_a_drive_cycle_with_its_header_in_a_comment_is_read():
    """UDDS current profile (pybamm 23.5, BSD-3): + is discharge; first and last rows as in the file."""
    recording = read((BATT / "current_profile_UDDS.csv").read_bytes(), name="current_profile_UDDS.csv")
    assert list(recording.frame) == ["current_a"]
    assert (recording.time_s[0], recording.time_s[-1], len(recording.frame)) == (0, 1369, 1370)
    assert recording.frame["current_a"].iloc[[0, -1]].tolist() == [0.030392, 0.030392]
    # stated with the data: in/out 0.10964/0.33638 Ah split at zero crossings, 0.11221/0.33895 clipped, so the
    # net is 0.22674 Ah by either rule; trapezoids must give it to the last digit stated
    current_a = recording.frame["current_a"].to_numpy()
    assert np.trapezoid(current_a, recording.time_s) / 3600 == pytest.approx(0.22674, abs=1e-5)


def test_a_second_drive_cycle_is_read():
    """US06 current profile (pybamm 23.5, BSD-3): net 0.19399 - 0.05368 = 0.14031 Ah as stated with the data."""
    recording = read((BATT / "current_profile_US06.csv").read_bytes(), name="current_profile_US06.csv")
    assert (recording.time_s[-1], len(recording.frame)) == (600, 601)
    current_a = recording.frame["current_a"].to_numpy()
    assert np.trapezoid(current_a, recording.time_s) / 3600 == pytest.approx(0.14031, abs=1e-5)


def test_a_cycler_s_sign_is_turned_on_the_evidence_of_its_voltage():
    """Pouch cell on a cycler (celljar 0.2.1, MIT): negative is discharge, as its provenance states."""
    recording = read((BATT / "cell-low-current-hppc-25c.csv").read_bytes(), name="cell.csv")
    assert codes_of(recording) == ["sign-reversed"]
    first, last = recording.frame.iloc[0], recording.frame.iloc[-1]
    # first and last lines of the file: "1.0 s, 10.00 A, 3.327 V, 33.2 W, CHRG", "58968.2 s, -10.00 A, … DCHG"
    assert (first["current_a"], first["cell_01_v"], first["power_w"]) == (-10.0, 3.327, -33.2)
    assert (last["current_a"], last["cell_01_v"], last["power_w"]) == (10.0, 3.0, 29.9)
    assert recording.duration_s == pytest.approx(58968.2 - 1.0, abs=1e-6)
    assert "voltage rises" in why(recording, "Current(A)")
    assert "another column tells the time" in why(recording, "StepTime(s)")


def test_a_cycler_s_other_file_is_read_alike():
    recording = read((BATT / "cell-discharge-bitrode-1c.csv").read_bytes(), name="cell.csv")
    # 30.37 Ah is the largest charge that the instrument counted: most charge flows in, so the net is negative
    assert recording.frame["current_a"].max() > 0 > recording.frame["current_a"].min()
    assert codes_of(recording) == ["sign-reversed"]


def test_the_map_says_how_the_log_is_written():
    settings_ = LogSettings(delimiter=";", decimal=",", encoding="latin-1", header_line=3)
    text = "time (s);current (A)\n1;2\n" + log("t;Strom (A);Außentemperatur (°C)", lambda k: f"{k},0;1,5;20,5")
    recording = read(text.encode("latin-1"), ColumnMap(log=settings_))
    assert recording.frame.iloc[0].to_dict() == {"current_a": 1.5, "air_temperature_c": 20.5}


@pytest.mark.parametrize(
    ("content", "name", "claimed"),
    [
        (b"t,i\n1,2\n", "x.dat", True),
        (b"hello world", "x.csv", True),
        (b"hello world", "x.dat", False),
        (b"", "x.csv", True),
        (b"<?xml version='1.0'?><gpx/>", "x.csv", False),
        (b"[bike]\nname = 'x'\n", "bike.txt", False),
        (b'{"a": 1}', "x.csv", False),
        (b"PK\x03\x04\x14\x00\x00\x00\x08\x00", "x.csv", False),
        (b"\x0e\x10\x5e\x08\x00\x00\x00\x00.FIT\x00\x00", "x.csv", False),
        ("t;i\n1;2\n".encode("utf-16"), "x", True),
    ],
)
def test_only_text_tables_are_claimed(content, name, claimed):
    assert delimited.recognises(content, name) is claimed


def test_a_million_rows_are_read():
    """1.08 million rows: 3 h at 100 Hz."""
    n = 1_080_000
    rows = "".join(f"{k / 100:.2f},{k % 800 / 100},50.{k % 10}\n" for k in range(n))
    content = ("time (s),battery current (A),battery voltage (V)\n" + rows).encode()
    recording = read(content)
    assert len(recording.frame) == n


def test_too_many_fields_in_a_map_s_header_line_are_refused():
    with pytest.raises(InputError, match=r"b\.csv: has no line 99 for a header, as the map states"):
        read("time (s),U (V)\n1,2\n", ColumnMap(log=LogSettings(header_line=99)))


def test_counts_are_read_with_the_factor_of_a_map_and_the_map_written_reads_them_again():
    """Tenths of a volt, hundredths of an ampere, ticks of 20 ms and tenths of a degree Fahrenheit; 50 °F are 10 °C."""
    text = log("tick,u,i,battery temp", lambda k: f"{50 * k},{480 + k},{100 * k},500")
    stated = ColumnMap(
        column=(
            ColumnEntry(header="tick", quantity="time", unit="ms", factor=20.0),
            ColumnEntry(header="u", quantity="battery voltage", unit="V", factor=0.1),
            ColumnEntry(header="i", quantity="battery current", unit="A", factor=0.01),
            ColumnEntry(header="battery temp", quantity="battery temperature", unit="°F", factor=0.1),
        )
    )
    found = delimited.read_log(text.encode(), "b.csv", "0" * 64, stated)
    frame = found.required().frame
    rows = np.arange(N_ROWS)
    assert frame.index.to_numpy() == pytest.approx(rows)
    assert frame["voltage_v"].to_numpy() == pytest.approx(48 + rows / 10)
    assert frame["current_a"].to_numpy() == pytest.approx(rows)
    assert frame["battery_temperature_c"].to_numpy() == pytest.approx(10.0)
    for reading, wrote, si in zip(found.report.readings, (50, 481, 100, 500), (1, 48.1, 1, 10), strict=True):
        assert (wrote + reading.offset) * reading.factor * reading.sign == pytest.approx(si)
    written = read_map(io.BytesIO(found.report.to_toml().encode()), name="MAP.toml")
    assert [entry.factor for entry in written.column] == [20.0, 0.1, 0.01, 0.1]
    again = delimited.read_log(text.encode(), "b.csv", "0" * 64, written).required()
    assert again.frame.equals(frame)
