"""Delimited logs: what comes out of them. One known table in many forms; published files; the values' evidence."""

import io
import math
import re
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.errors import ColumnQuestionError, InputError, RidelogError
from ridelog.importers.delimited import read as delimited
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings, read_map
from tests.places import REFERENCE

BATT = REFERENCE / "batt"
N = 60
PHASE = np.arange(N) * 0.7
CURRENT_A = np.round(5 + 6 * np.sin(PHASE), 2)
VOLTAGE_V = np.round(50 - 0.11 * CURRENT_A, 3)


def read(text: str | bytes, columns: ColumnMap | None = None, name: str = "b.csv"):
    content = text if isinstance(text, bytes) else text.encode()
    return delimited.read(content, name, "0" * 64, columns)


def log(header: str, row, n: int = N) -> str:
    """A log of ``n`` rows, each made by ``row(k)``."""
    return header + "\n" + "".join(f"{row(k)}\n" for k in range(n))


def codes(recording) -> list[str]:
    return [finding.code for finding in recording.findings]


def why(recording, header: str) -> str:
    return next(reading.why for reading in recording.columns if reading.header == header)


# --- one known table in many forms -------------------------------------------------------------------------

FORMS = {
    "time": {  # seconds -> text, by header
        "time (s)": lambda t: f"{t:.1f}",
        "Zeit [ms]": lambda t: f"{1000 * t:.0f}",
        "temps_us": lambda t: f"{1e6 * t:.0f}",
        "ride time (h:mm:ss)": lambda t: f"{t // 3600:.0f}:{t % 3600 // 60:02.0f}:{t % 60:04.1f}",
        "timestamp": lambda t: f"2026-05-01T08:00:{t:04.1f}Z",
        "epoch ms": lambda t: f"{1777622400000 + 1000 * t:.0f}",
    },
    "current_a": {
        "battery current (A)": lambda x: f"{x:.2f}",
        "I_batt/mA": lambda x: f"{1000 * x:.0f}",
        "Akkustrom in A": lambda x: f"{x:.2f}",
        "charge current (A)": lambda x: f"{-x:.2f}",
    },
    "voltage_v": {"U [V]": lambda x: f"{x:.3f}", "tension_mv": lambda x: f"{1000 * x:.0f}"},
    "speed_mps": {"speed (km/h)": lambda x: f"{3.6 * x:.3f}", "snelheid (m/s)": lambda x: f"{x:.3f}"},
}
TRUTH = {
    "time": np.arange(N) * 0.5,
    "current_a": CURRENT_A,
    "voltage_v": VOLTAGE_V,
    "speed_mps": np.round(6 + np.sin(PHASE / 3), 2),
}
UNITS_ROW = {"time (s)": ("time", "s"), "battery current (A)": ("battery current", "A"), "U [V]": ("U", "V")}


@st.composite
def written(draw):
    """The known table as bytes, in a drawn form."""
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    decimal = draw(st.sampled_from([".", ","])) if delimiter != "," else "."
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"]))
    order = draw(st.permutations(list(FORMS)))
    heads = {name: draw(st.sampled_from(sorted(FORMS[name]))) for name in order}
    units_row = draw(st.booleans()) and all(heads[name] in UNITS_ROW for name in order if name != "speed_mps")
    lines = draw(st.sampled_from([[], ["# ride of a day"], ["log of a device", ""]]))
    if units_row:
        units = {
            name: UNITS_ROW.get(heads[name], ("speed", "km/h" if "km/h" in heads[name] else "m/s")) for name in order
        }
        lines = [
            *lines,
            delimiter.join(units[name][0] for name in order),
            delimiter.join(units[name][1] for name in order),
        ]
    else:
        lines = [*lines, delimiter.join(heads[name] for name in order)]
    for k in range(N):
        cells = [FORMS[name][heads[name]](TRUTH[name][k]) for name in order]
        lines.append(delimiter.join(cell.replace(".", decimal) for cell in cells))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    return (end.join(lines) + draw(st.sampled_from(["", end]))).encode(encoding)


@settings(deadline=None, max_examples=150)
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


@settings(deadline=None, max_examples=100)
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


@settings(deadline=None, max_examples=200)
@given(st.binary(max_size=400) | st.text(alphabet="0123456789.,;:\t|-+ \n\r\"'#%aAvVmsZ°µ/()[]", max_size=400))
def test_any_bytes_are_read_or_refused_in_words(content):
    content = content if isinstance(content, bytes) else content.encode()
    found = attempt(content)
    assert not isinstance(found, RidelogError) or "\n" not in found.message
    if isinstance(found, ColumnQuestionError) or not isinstance(found, RidelogError):
        assert delimited.explain(content, "b.csv").to_toml()


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
    assert codes(recording) == ["sign-reversed"]
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
    assert codes(recording) == ["sign-reversed"]


# --- time --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "cell", "start", "clock"),
    [
        ("time", lambda k: f"2026-05-01T08:00:{k:02d}Z", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"2026-05-01 10:00:{k:02d}.50+02:00", datetime(2026, 5, 1, 8, 0, 0, 500000, UTC), "utc"),
        ("time", lambda k: f"20260501T0800{k:02d}Z", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"2026-05-01 08:00:{k:02d}", datetime(2026, 5, 1, 8, tzinfo=UTC), "local"),
        ("Zeit", lambda k: f"01.05.2026 08:00:{k:02d}", datetime(2026, 5, 1, 8, tzinfo=UTC), "local"),
        ("date,time", lambda k: f"13/05/2026,8:00:{k:02d} PM", datetime(2026, 5, 13, 20, tzinfo=UTC), "local"),
        ("date,time", lambda k: f"05/13/2026,12:00:{k:02d} am", datetime(2026, 5, 13, 0, tzinfo=UTC), "local"),
        ("epoch", lambda k: f"{1777622400 + k}", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"{1777622400000 + 1000 * k}", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time (h:mm:ss)", lambda k: f"0:00:{k:02d}", None, "elapsed"),
        ("time", lambda k: f"{k}", None, "elapsed"),
        ("time", lambda k: f"{1000 * k}", None, "elapsed"),
        ("time (min)", lambda k: f"{k / 60:.6f}", None, "elapsed"),
    ],
    ids=[
        "iso-zulu",
        "iso-offset",
        "iso-compact",
        "iso-local",
        "german",
        "day-first",
        "month-first",
        "epoch-s",
        "epoch-ms",
        "hms",
        "seconds",
        "milliseconds",
        "minutes",
    ],
)
def test_time_is_read_in_the_form_it_is_written(header, cell, start, clock):
    """Elapsed and wall times give seconds from the first sample, the start and the kind of clock."""
    recording = read(log(f"{header},current (A)", lambda k: f"{cell(k)},{k % 5}"))
    assert recording.start == start
    assert recording.clock == clock
    # 1e-4 s: minutes were written to 1e-6
    assert recording.time_s == pytest.approx(np.arange(N), abs=1e-4)


def test_a_zone_in_the_map_makes_a_local_time_universal():
    """Lisbon is one hour ahead of UTC in May (WEST, UTC+1)."""
    text = log("time,current (A)", lambda k: f"2026-05-01 08:00:{k:02d},1")
    recording = read(text, ColumnMap(log=LogSettings(time_zone="Europe/Lisbon")))
    assert (recording.start, recording.clock) == (datetime(2026, 5, 1, 7, tzinfo=UTC), "utc")


def test_the_map_tells_day_from_month():
    text = log("date,time,current (A)", lambda k: f"03/04/2026,08:00:{k:02d},1")
    with pytest.raises(ColumnQuestionError):
        read(text)
    for order, month, day in (("day-month-year", 4, 3), ("month-day-year", 3, 4)):
        recording = read(text, ColumnMap(log=LogSettings(date_order=order)))
        assert recording.start == datetime(2026, month, day, 8, tzinfo=UTC)


def test_stamps_coarser_than_the_samples_are_spread_and_no_sample_is_lost():
    """At 5 Hz with stamps of whole seconds, 0.2 s lie between samples; the first second holds three of five."""
    recording = read(log("time,current (A)", lambda k: f"2026-05-01T08:00:{(k + 2) // 5:02d}Z,{k % 7}"))
    assert recording.time_s == pytest.approx(0.2 * np.arange(N), abs=1e-6)
    assert codes(recording) == ["time-spread"]
    assert "a resolution of 1 s, but about 5 samples share each" in recording.findings[0].message


def test_a_finer_column_gives_the_steps_and_the_wall_clock_the_start():
    recording = read(
        log("timestamp,elapsed (ms),current (A)", lambda k: f"2026-05-01T08:00:{(k + 3) // 5:02d}Z,{200 * k},{k % 7}")
    )
    assert recording.time_s == pytest.approx(0.2 * np.arange(N), abs=1e-9)
    assert recording.start == datetime(2026, 5, 1, 8, 0, 0, 600000, UTC)  # 08:00:01 less two steps of 0.2 s
    assert recording.findings == ()


def test_midnight_is_passed():
    recording = read(log("Uhrzeit,current (A)", lambda k: f"{'23:59' if k < 20 else '0:00'}:{(k + 40) % 60:02d},1"))
    assert recording.time_s == pytest.approx(np.arange(N))
    assert codes(recording) == ["clock-wrapped"]


def test_a_counter_of_microseconds_that_is_full_goes_on():
    """An unsigned 32-bit counter starts again after 2^32 µs."""
    recording = read(log("time_us,current (A)", lambda k: f"{(2**32 - 2_000_000 + 200_000 * k) % 2**32},1"))
    assert recording.time_s == pytest.approx(0.2 * np.arange(N), abs=1e-9)
    assert codes(recording) == ["clock-wrapped"]


# --- units and sign by evidence ----------------------------------------------------------------------------


def test_a_reversed_sign_is_turned_and_said_with_the_numbers():
    """U = 50 V - 0.11 Ω · I by construction, logged with I negated."""
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{-CURRENT_A[k]},{VOLTAGE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    (finding,) = recording.findings
    assert (finding.code, finding.severity) == ("sign-reversed", "warning")
    assert "voltage rises by 0.11 V per ampere, so positive current flows into the battery here" in finding.message


def test_a_sign_that_the_voltage_confirms_is_kept_without_a_finding():
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{CURRENT_A[k]},{VOLTAGE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert recording.findings == ()
    assert "voltage falls by 0.11 V per ampere" in why(recording, "current (A)")


def test_a_sign_that_nothing_shows_is_taken_as_usual_and_said():
    recording = read(log("time (s),current (A)", lambda k: f"{k},{CURRENT_A[k]}"))
    assert codes(recording) == ["sign-assumed"]
    assert recording.findings[0].severity == "note"
    doubtful = read(log("time (s),current (A)", lambda k: f"{k},{-CURRENT_A[k]}"))
    assert [(item.code, item.severity) for item in doubtful.findings] == [("sign-assumed", "warning")]


def test_a_falling_state_of_charge_shows_the_sign():
    """8 % of charge are lost while the current logged is negative."""
    recording = read(log("time (s),current (A),SoC (%)", lambda k: f"{k},{-5 - k % 2},{90 - k * 8 / 59:.2f}"))
    assert codes(recording) == ["sign-reversed"]
    assert (recording.frame["current_a"] > 0).all()


def test_a_count_of_charge_drawn_shows_the_sign():
    """-6 A for 59 s are 98.3 mAh; the counter of what was drawn rises by as much."""
    recording = read(log("time (s),current (A),mAh drawn", lambda k: f"{k},-6,{6000 * k / 3600:.2f}"))
    assert codes(recording) == ["sign-reversed"]


def test_words_that_the_voltage_contradicts_are_kept_with_a_warning():
    recording = read(log("time (s),charge current (A),voltage (V)", lambda k: f"{k},{CURRENT_A[k]},{VOLTAGE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(-CURRENT_A)
    assert codes(recording) == ["sign-doubtful"]


def test_two_columns_without_sign_are_joined_to_one_current():
    recording = read(
        log(
            "time (s),charge current (A),discharge current (A)",
            lambda k: f"{k},{max(-CURRENT_A[k], 0):.2f},{max(CURRENT_A[k], 0):.2f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)


def test_the_map_of_two_joined_columns_joins_them_again():
    text = log("time (s),regen current (A),current drawn (A)", lambda k: f"{k},{k % 3},{k % 7}")
    column_map = read_map(io.BytesIO(delimited.explain(text.encode(), "b.csv").to_toml().encode()))
    again = read(text, column_map).frame["current_a"]
    # worked by hand: drawn less returned in the rows 0, 1, 5 and 8
    assert again.iloc[[0, 1, 5, 8]].tolist() == [0, 0, 3, -1]
    assert again.equals(read(text).frame["current_a"])


@pytest.mark.parametrize(("factor", "is_read"), [(1.0, True), (3.0, False)])
def test_a_controller_s_current_is_read_only_where_power_shows_its_side(factor, is_read):
    """A controller's current may be its battery's or its motor's; the motor's is no power / voltage."""
    text = log(
        "time (s),controller current (A),U (V),P battery (W)",
        lambda k: f"{k},{factor * CURRENT_A[k]:.2f},50,{50 * CURRENT_A[k]:.1f}",
    )
    if is_read:
        assert read(text).frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    else:
        with pytest.raises(ColumnQuestionError, match="on the battery's or on the motor's side"):
            read(text)


def test_a_column_of_one_direction_tells_the_sign_of_the_whole():
    recording = read(
        log(
            "time (s),battery current (A),regen current (A)",
            lambda k: f"{k},{-CURRENT_A[k]:.2f},{max(-CURRENT_A[k], 0):.2f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_power_and_voltage_show_the_unit_of_a_current(factor, unit):
    recording = read(
        log("time (s),current,U (V),P (W)", lambda k: f"{k},{factor * CURRENT_A[k]:.2f},50,{50 * CURRENT_A[k]:.1f}")
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert f"{unit}, since power / voltage is 1.00 times it" in why(recording, "current")


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_the_voltage_s_answer_shows_the_unit_of_a_current(factor, unit):
    recording = read(log("time (s),current,U", lambda k: f"{k},{factor * CURRENT_A[k]:.2f},{VOLTAGE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert f"{unit}, since the voltage then moves by 0.11 V per ampere" in why(recording, "current")


def test_a_distance_shows_the_unit_of_a_speed():
    """18 km/h are 5 m/s."""
    recording = read(log("time (s),speed,distance (m)", lambda k: f"{k},18,{5 * k}"))
    assert recording.frame["speed_mps"].to_numpy() == pytest.approx(5.0)


def test_of_two_currents_the_one_that_is_power_over_voltage_is_the_battery_s():
    recording = read(
        log(
            "time (s),current 1 (A),current 2 (A),U (V),P (W)",
            lambda k: f"{k},{2 * CURRENT_A[k] + k % 7:.2f},{CURRENT_A[k]:.2f},50,{50 * CURRENT_A[k]:.1f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert "not used" in why(recording, "current 1 (A)")


def test_the_motor_s_current_is_never_the_battery_s():
    recording = read(log("time (s),motor current (A),current (A)", lambda k: f"{k},40,{CURRENT_A[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert (recording.frame["motor_current_a"] == 40).all()


def test_a_count_without_direction_is_what_the_current_adds_up_to():
    """5 A for 59 s at 50 V: 5·59/3600 = 0.0819 Ah and 4.097 Wh drawn."""
    recording = read(
        log("time (s),current (A),voltage (V),Ah,Wh", lambda k: f"{k},5,50,{5 * k / 3600:.5f},{250 * k / 3600:.4f}")
    )
    assert recording.frame["drawn_counter_ah"].iloc[-1] == pytest.approx(0.0819, abs=1e-4)
    assert recording.frame["drawn_counter_wh"].iloc[-1] == pytest.approx(4.097, abs=1e-3)


def test_a_power_without_sign_is_left_out_beside_a_current_that_has_one():
    recording = read(
        log(
            "time (s),current (A),voltage (V),power (W)",
            lambda k: f"{k},{CURRENT_A[k]},{VOLTAGE_V[k]},{abs(CURRENT_A[k] * VOLTAGE_V[k]):.1f}",
        )
    )
    assert "power_w" not in recording.frame


def test_a_rider_s_power_is_not_the_battery_s():
    """A bare "power" that is not voltage times current is somebody else's."""
    recording = read(
        log("time (s),current (A),voltage (V),power (W)", lambda k: f"{k},{CURRENT_A[k]},{VOLTAGE_V[k]},{100 + k}")
    )
    assert "power_w" not in recording.frame
    assert "whose power?" in why(recording, "power (W)")


def test_words_and_map_say_whether_a_return_can_be_shown():
    assert read(log("time (s),abs current (A)", lambda k: f"{k},5")).can_show_return is False
    text = log("time (s),current (A)", lambda k: f"{k},5")
    assert read(text).can_show_return is None
    assert read(text, ColumnMap(log=LogSettings(signed=True))).can_show_return is True
    assert read(text, ColumnMap(log=LogSettings(signed=False))).can_show_return is False


def test_everything_that_a_log_may_hold_is_read_in_si():
    header = (
        "time (s),wheel rpm,wheel revolutions,distance (km),battery temp (°F),motor temp (°C),controller temp (°C),"
        "air temp (K),brake,throttle (%),cadence,rider power (W),SoC (%),Ah drawn,mAh returned,net Wh,cell 1 (mV),"
        "cell 2,latitude,longitude,altitude (ft)"
    )
    row = "100,7,1.5,68,40,30,283.15,on,25,70,90,80,1.25,250,40,3700,3.71,46.5,-32,1000"
    recording = read(log(header, lambda k: f"{k},{row}"))
    expected = {  # by hand from the definitions of the units
        "wheel_speed_rpm": 100,
        "wheel_revolutions": 7,
        "distance_m": 1500,
        "battery_temperature_c": 20,
        "motor_temperature_c": 40,
        "controller_temperature_c": 30,
        "air_temperature_c": 10,
        "brake_ratio": 1,
        "throttle_ratio": 0.25,
        "cadence_rpm": 70,
        "rider_power_w": 90,
        "state_of_charge_pct": 80,
        "drawn_counter_ah": 1.25,
        "returned_counter_ah": 0.25,
        "net_counter_wh": 40,
        "cell_01_v": 3.7,
        "cell_02_v": 3.71,
        "latitude_deg": 46.5,
        "longitude_deg": -32,
        "altitude_m": 304.8,
    }
    assert recording.frame.iloc[0].to_dict() == pytest.approx(expected)
    assert recording.role == "track"


# --- the map and the report --------------------------------------------------------------------------------


def test_the_map_answers_the_question_of_two_currents():
    text = log("time (s),current 1 (A),current 2 (A)", lambda k: f"{k},{k % 7},{CURRENT_A[k]}")
    with pytest.raises(ColumnQuestionError) as caught:
        read(text)
    answer = (caught.value.hint or "").split("--columns: ")[1]
    assert read(text, read_map(io.BytesIO(answer.encode()))).frame["current_a"].iloc[1] == 1
    other = ColumnMap(column=(ColumnEntry(header="current 1 (A)", use=False),))
    assert read(text, other).frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)


def test_the_map_overrules_quantity_unit_and_sign():
    column_map = ColumnMap(
        column=(
            ColumnEntry(header="x", quantity="time", unit="ms"),
            ColumnEntry(header="y", quantity="battery current", unit="mA", sign=-1),
            ColumnEntry(header="speed (km/h)", unit="m/s"),
        )
    )
    recording = read(log("x,y,speed (km/h)", lambda k: f"{100 * k},{1000 * CURRENT_A[k]:.0f},5"), column_map)
    assert recording.step_s == pytest.approx(0.1)
    assert recording.frame["current_a"].to_numpy() == pytest.approx(-CURRENT_A)
    assert (recording.frame["speed_mps"] == 5).all()


def test_the_map_says_how_the_log_is_written():
    settings_ = LogSettings(delimiter=";", decimal=",", encoding="latin-1", header_line=3)
    text = "time (s);current (A)\n1;2\n" + log("t;Strom (A);Außentemperatur (°C)", lambda k: f"{k},0;1,5;20,5")
    recording = read(text.encode("latin-1"), ColumnMap(log=settings_))
    assert recording.frame.iloc[0].to_dict() == {"current_a": 1.5, "air_temperature_c": 20.5}


@settings(deadline=None, max_examples=50)
@given(written())
def test_the_map_that_a_report_writes_reads_the_log_as_before(content):
    column_map = read_map(io.BytesIO(delimited.explain(content, "b.csv").to_toml().encode()))
    again, before = read(content, column_map), read(content)
    assert list(again.frame) == list(before.frame)
    assert np.array_equal(again.frame.to_numpy(), before.frame.to_numpy())
    assert np.array_equal(again.time_s, before.time_s)


def test_the_report_shows_every_column_in_order_with_its_reason():
    report = delimited.explain(log("mode,time (s),U (mV)", lambda k: f"eco {k},{k},48000").encode(), "b.csv")
    assert [reading.header for reading in report.readings] == ["mode", "time (s)", "U (mV)"]
    mode, time, volts = report.readings
    assert (mode.channel, time.channel, volts.channel) == (None, "time_s", "voltage_v")
    assert (volts.unit, volts.factor, volts.sign) == ("mV", 0.001, 1)
    assert all(reading.why for reading in report.readings)
    assert report.clock == "elapsed time, 60 samples over 59.0 s"
    assert any("parted by comma" in fact for fact in report.facts)
    assert not report.questions
    assert not report.blocked


def test_the_map_of_an_open_question_holds_the_answer_as_a_comment():
    content = log("time (s),current", lambda k: f"{k},{k % 5}")
    text = delimited.explain(content.encode(), "b.csv").to_toml()
    assert "# Question: 'current' states no unit" in text
    with pytest.raises(ColumnQuestionError):
        read(content, read_map(io.BytesIO(text.encode())))
    answered = re.sub(r"^# (\[\[column|header =|quantity =|unit =|sign =)", r"\1", text, flags=re.MULTILINE)
    assert read(content, read_map(io.BytesIO(answered.encode()))).frame["current_a"].iloc[2] == 2


def test_columns_of_one_name_can_be_told_apart():
    report = delimited.explain(log("time (s),loop,loop,U (V)", lambda k: f"{k},1,2,50").encode(), "b.csv")
    assert [reading.header for reading in report.readings] == ["time (s)", "loop", "loop #2", "U (V)"]


def test_undefined_stays_undefined():
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{'n/a' if k == 3 else 5},50"))
    assert math.isnan(recording.frame["current_a"].iloc[3])


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
