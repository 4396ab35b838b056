"""The FIT reader, against recorded rides decoded by others, and against files of our own writer."""

import csv
import re
import struct
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from ridelog.errors import InputError, RidelogError
from ridelog.importers import fit as importer
from sample_rides.fit_writer import fit_crc
from tests.importers.tracks import START, fit, samples
from tests.places import others_recording


def read(content, name="ride.fit"):
    assert importer.recognises(content, name)
    return importer.read_log(content, name, "0" * 64, None).required()


def read_recorded(name):
    return read(others_recording(f"fit/{name}").read_bytes(), name)


def codes(recording):
    return [finding.code for finding in recording.findings]


def facts(recording, code):
    return next(finding.facts for finding in recording.findings if finding.code == code)


# Totals that the devices themselves put into their files; session messages read with another decoder.
@pytest.mark.parametrize(
    ("name", "stated"),
    [
        (
            "ride-A_1hz_power.fit",
            {"distance_m": 41339.38, "ascent_m": 514, "descent_m": 515, "rider_work_j": 1296229, "moving_s": 4700.05},
        ),
        ("ride-B_pauses_dups.fit", {"distance_m": 92622.34, "moving_s": 10641.06, "elapsed_s": 12691.28}),
        ("ride-C_smart-recording.fit", {"distance_m": 11536.43, "ascent_m": 66, "descent_m": 84}),
        ("ride-D_no-distance-field.fit", {"distance_m": 13400.14}),
    ],
)
def test_recorded_ride_states_its_totals(name, stated):
    """A recorded ride states the totals that its device counted, and its last distance comes near."""
    recording = read_recorded(name)
    assert {key: recording.stated[key] for key in stated} == stated
    if "distance_m" in recording.frame:
        # the total is taken when the timer stops, up to one second and a little after the last sample
        rest_m = stated["distance_m"] - recording.frame["distance_m"].max()
        assert -0.005 <= rest_m <= 1.2 * recording.frame["speed_mps"].iloc[-1] + 0.005


def test_recorded_extremes_are_those_that_the_device_states():
    """The greatest power, speed and cadence of ride A are those that its session message states."""
    frame = read_recorded("ride-A_1hz_power.fit").frame
    greatest = frame[["rider_power_w", "speed_mps", "cadence_rpm"]].max()
    assert greatest.tolist() == [619, 16.098, 133]


def test_recorded_ride_equals_a_reference_decode_field_by_field():
    """Every field of ride B equals what another decoder made of the same file, repeated times left out."""
    recording = read_recorded("ride-B_pauses_dups.fit")
    with others_recording("fit/ride-B_reference-decode.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 10686
    first_of_each = {}
    for row in rows:  # the decode prints Pacific Daylight Time, 7 h behind UTC
        local = datetime.strptime(row["timestamp"].replace(" PDT", ""), "%a %b %d %H:%M:%S %Y").replace(tzinfo=UTC)
        first_of_each.setdefault(local + timedelta(hours=7), row)
    assert len(rows) - len(first_of_each) == 15
    assert recording.start == next(iter(first_of_each))
    seconds = [(time - recording.start).total_seconds() for time in first_of_each]
    assert recording.time_s.tolist() == seconds
    fields = {
        "speed": ("speed_mps", 1),
        "distance": ("distance_m", 1),
        "altitude": ("altitude_m", 1),
        "temperature": ("air_temperature_c", 1),
        "cadence": ("cadence_rpm", 1),
        "position_lat": ("latitude_deg", 180 / 2**31),
        "position_long": ("longitude_deg", 180 / 2**31),
    }
    for field, (channel, factor) in fields.items():
        theirs = [float(row[field]) * factor for row in first_of_each.values()]
        # that decoder repeats the last value where the file holds "not known"; ridelog does not know either
        assert recording.frame[channel].isna().sum() <= 121  # records whose raw value is the "not known" one
        ours = recording.frame[channel].ffill()
        # both divide the same integers; only the last binary digit may differ
        np.testing.assert_allclose(ours, theirs, rtol=1e-12, err_msg=field)
    told = facts(recording, "time-repeated")
    assert (told["n_dropped"], told["n_all"], told["of"]) == (15, 10686, "sample")


@pytest.mark.parametrize(
    ("name", "length_m"), [("ride-C_smart-recording.fit", 11527.2), ("ride-D_no-distance-field.fit", 13399.7)]
)
def test_recorded_positions_have_the_geodesic_length_found_elsewhere(name, length_m):
    """The positions of a recorded ride have the length on WGS 84 that was found with other programs."""
    frame = read_recorded(name).frame[["latitude_deg", "longitude_deg"]].dropna()
    length = Geod(ellps="WGS84").line_length(frame["longitude_deg"], frame["latitude_deg"])
    assert length == pytest.approx(length_m, abs=0.1)  # the last digit given


def test_recorded_pauses_add_up_to_the_standing_time():
    """The pauses of ride B add up to the time that its timer stood."""
    recording = read_recorded("ride-B_pauses_dups.fit")
    standing_s = sum(end - begin for begin, end in recording.pauses_s)
    # stamps are whole seconds: each of 47 pauses errs by sqrt(1/6) s, together 2.8 s, so twice that
    assert standing_s == pytest.approx(12691.28 - 10641.06, abs=5.6)


def test_false_spike_of_a_recorded_ride_is_kept_as_recorded():
    """The false 26.1 m/s sample at a resume is handed on inside its pause, for the analysis to judge."""
    recording = read_recorded("ride-B_pauses_dups.fit")
    spike_s = recording.frame["speed_mps"].idxmax()
    assert recording.frame["speed_mps"].max() == 26.112
    assert any(begin <= spike_s <= end for begin, end in recording.pauses_s)


def test_native_field_wins_over_a_developer_field_of_its_name():
    """Native speed and distance win over developer fields called "Speed" and "Distance"."""
    recording = read_recorded("devfields_name-collision.fit")
    # first record of the file: native speed 1.441 m/s and 1.00 m; the developer fields both hold 0
    assert recording.frame.iloc[0][["speed_mps", "distance_m"]].tolist() == [1.441, 1.0]
    unused = {reading.header for reading in recording.columns if reading.channel is None}
    assert unused == {"Form Power", "Leg Spring Stiffness", "Distance", "Speed"}


@pytest.mark.parametrize(
    ("name", "code", "stated"),
    [
        ("corrupt_activity-filecrc.fit", "check-sum", {}),
        ("corrupt_activity-activity-filecrc.fit", "check-sum", {}),
        ("corrupt_activity-unexpected-eof.fit", "damaged-tail", {"damage": "ends-inside-message", "at": 768}),
        ("corrupt_activity-settings-nodata.fit", "damaged-tail", {"damage": "ends-inside-message", "at": 786}),
        ("corrupt_activity-settings-corruptheader.fit", "damaged-tail", {"damage": "not-this-format", "at": None}),
    ],
)
def test_corrupt_recorded_file_is_kept_and_reported(name, code, stated):
    """A file corrupt as its name says gives its 14 samples and a finding that names the fault."""
    recording = read_recorded(name)
    assert len(recording.frame) == 14  # counted in the intact part with another decoder
    assert stated.items() <= facts(recording, code).items()


def test_written_samples_come_back():
    """What our writer puts in comes out, within the resolution of the format."""
    written = samples(30, cadence_rpm=70.0, rider_power_w=150.0)
    recording = read(fit(written))
    assert recording.clock == "utc"
    assert recording.start == START
    assert recording.time_s.tolist() == [record["time_s"] for record in written]
    # resolution of the FIT profile, half a step: 180/2^31 degrees, 0.2 m, 1 mm/s, 1 cm, 1 °C
    steps = {"altitude_m": 0.2, "speed_mps": 0.001, "distance_m": 0.01}
    steps["latitude_deg"] = steps["longitude_deg"] = 180 / 2**31
    for channel in (*steps, "air_temperature_c", "cadence_rpm", "rider_power_w"):
        expected = [record[channel] for record in written]
        assert recording.frame[channel].tolist() == pytest.approx(expected, abs=steps.get(channel, 0) / 2 + 1e-9)
    assert recording.stated["distance_m"] == pytest.approx(145.0)
    assert not recording.findings


def test_check_sum_is_that_of_the_protocol():
    """The check sum is CRC-16/ARC: its published check value for "123456789" is 0xBB3D (from memory)."""
    assert fit_crc(b"123456789") == 0xBB3D


def test_timer_stops_become_pauses():
    """Stops of the timer are pauses, and the stop at the end is none."""
    recording = read(fit(samples(60), pauses_s=[(10, 15), (30, 44)]))
    assert recording.pauses_s == ((10.0, 15.0), (30.0, 44.0))
    assert recording.stated["moving_s"] == 59 - 5 - 14


def test_developer_fields_are_read_by_name_and_unit():
    """Developer fields give battery current and voltage by their names and units."""
    fields = {"Battery Current": "mA", "pack voltage": "V", "Motor Current": "A", "Odd": "A"}
    values = {"Battery Current": -2500.0, "pack voltage": 48.5, "Motor Current": 12.0, "Odd": 1.0}
    recording = read(fit(samples(5, **values), developer_fields=fields))
    row = recording.frame.iloc[2]
    assert (row["current_a"], row["voltage_v"], row["motor_current_a"]) == (-2.5, 48.5, 12.0)
    assert recording.role == "both"


def test_current_into_the_battery_is_negative():
    """A field that says it counts regenerated current is turned round: positive leaves the battery."""
    recording = read(fit(samples(5, regen_current=3.0), developer_fields={"regen_current": "A"}))
    assert recording.frame["current_a"].tolist() == [-3.0] * 5


def test_current_with_a_strange_word_is_not_used():
    """A developer field that also says what no table knows is not taken for the battery's, and a finding says so."""
    recording = read(fit(samples(5, dynamo=3.0), developer_fields={"dynamo": "A"}))
    assert "current_a" not in recording.frame
    assert facts(recording, "unused-field")["field"] == "dynamo"


def test_truncated_file_is_kept_up_to_the_damage():
    """A file cut in the middle keeps the samples before, and says where it ends."""
    whole = fit(samples(100))
    recording = read(whole[: len(whole) // 2])
    assert 40 < len(recording.frame) < 60
    told = facts(recording, "damaged-tail")
    assert (told["damage"], told["at"]) == ("ends-inside-message", len(whole) // 2)


def test_unfinished_file_is_read():
    """A file whose header still says length 0, because the device lost power, is read as far as it goes."""
    whole = bytearray(fit(samples(20)))
    whole[4:8] = bytes(4)
    recording = read(bytes(whole[:-40]))
    assert len(recording.frame) == 20
    assert facts(recording, "damaged-tail")["damage"] == "never-finished"


def test_changed_byte_is_noticed():
    """One changed byte in a sample is noticed by the check sum."""
    whole = bytearray(fit(samples(20)))
    whole[-200] ^= 1
    assert "check-sum" in codes(read(bytes(whole)))


def test_stamps_since_power_on_make_an_elapsed_clock():
    """Stamps that count from the device's start give seconds, and no time of day."""
    recording = read(fit(samples(5), start=datetime(1990, 1, 1, tzinfo=UTC)))
    assert recording.clock == "elapsed"
    assert recording.start is None
    assert recording.time_s.tolist() == [0, 1, 2, 3, 4]


def test_stamps_before_the_first_fix_are_dropped():
    """Samples stamped before the device knew the date, among others that it did stamp, are dropped."""
    early = [{**record, "time_s": record["time_s"] - 8e8} for record in samples(3)]
    recording = read(fit([*early, *samples(20)], totals={"elapsed_s": 19, "moving_s": 19}))
    assert recording.start == START
    told = facts(recording, "far-off-times")
    assert (told["n_dropped"], told["n_all"]) == (3, 23)


def test_stamp_far_ahead_costs_one_sample():
    """One sample stamped years ahead in the middle is dropped, and nothing else."""
    records = samples(20)
    content = bytearray(fit(records))
    stamp = struct.pack("<I", round((START - importer.FIT_EPOCH).total_seconds()) + 7)
    place = content.index(b"\x02" + stamp) + 1
    content[place : place + 4] = struct.pack("<I", 0xF0000000)
    recording = read(bytes(content))
    assert recording.time_s.tolist() == [float(i) for i in range(20) if i != 7]
    told = facts(recording, "far-off-times")
    assert (told["n_dropped"], told["n_all"]) == (1, 20)


def test_samples_without_any_stamp_are_refused():
    """A file none of whose samples has a time is refused with their number."""
    content = fit(
        [
            {**record, "time_s": float(0xFFFFFFFF) - (START - importer.FIT_EPOCH).total_seconds()}
            for record in samples(3)
        ],
        START,
    )
    with pytest.raises(InputError, match="holds 3 samples without a time"):
        read(content)


def test_file_larger_than_a_ride_is_refused():
    """A file larger than any one ride is refused before it takes minutes."""
    assert importer.read_log(WHOLE, "x", "", largest_bytes=len(WHOLE)).recording
    with pytest.raises(InputError, match=r"of FIT, and 0\.0001 MB are allowed"):
        importer.read_log(WHOLE, "x", "", largest_bytes=100)


def test_file_without_samples_is_refused():
    """A FIT file that holds no sample is refused as such."""
    with pytest.raises(InputError, match="holds no recorded sample"):
        read(fit([]))


WHOLE = fit(samples(12), pauses_s=[(4, 6)], developer_fields={"battery current": "A"})


@settings(max_examples=200)
@given(data=st.data())
def test_damaged_bytes_give_a_recording_or_an_error_for_people(data):
    """Whatever is cut or overwritten in a FIT file, the answer is a recording or an error with a sentence."""
    content = bytearray(WHOLE[: data.draw(st.integers(12, len(WHOLE)))])
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), max_size=6)):
        content[place] = data.draw(st.integers(0, 255))
    try:
        recording = importer.read_log(bytes(content), "ride.fit", "", None).required()
    except RidelogError as error:
        said = error.message
    else:
        said = f"ride.fit: {len(recording.frame)} samples"
        assert (np.diff(recording.time_s) > 0).all()
    assert re.match(r"ride\.fit: \w", said)


def test_laps_are_taken_once_each_however_many_there_are():
    """40,000 laps and one that is repeated; each was looked for among all before it."""
    messages = importer._Messages()
    for number in [*range(40_000), 7]:
        lap = SimpleNamespace(name="total_distance", value=1.5 * number)
        importer._take(SimpleNamespace(name="lap", fields=[lap]), messages)
    assert [lap["total_distance"] for lap in messages.laps] == [1.5 * number for number in range(40_000)]


@pytest.mark.parametrize("number", [20, 34])
@pytest.mark.parametrize("cut", [0, 2])
def test_messages_without_a_field_are_read_up_to_a_number_and_refused_beyond(monkeypatch, number, cut):
    """Three million of them, in 4 kB that are packed, took half a minute, in a whole file as in one that is cut."""
    monkeypatch.setattr(importer, "MOST_EMPTY", 50)

    def holding(n):
        body = WHOLE[14:-2] + struct.pack("<BBBHB", 0x45, 0, 0, number, 0) + bytes([5]) * n
        header = struct.pack("<BBHI4s", 14, 0x20, 2140, len(body), b".FIT")
        content = header + struct.pack("<H", fit_crc(header)) + body
        return (content + struct.pack("<H", fit_crc(content)))[: len(content) + 2 - cut]

    assert len(read(holding(50)).frame) == 12
    with pytest.raises(InputError, match="more than 50 messages without a single field"):
        read(holding(200))


@pytest.mark.parametrize(("base", "letter", "time"), [(0x8F, "Q", 2**63 + 5), (0x8E, "q", -5)])
def test_a_time_that_no_stamp_can_hold_is_none(base, letter, time):
    """A number of 64 bits in the field of the time stamp, which has 32: the record counts as one without a time."""
    body = WHOLE[14:-2] + struct.pack("<BBBHB", 0x45, 0, 0, 20, 1) + bytes([253, 8, base])
    body += struct.pack(f"<B{letter}", 5, time)
    header = struct.pack("<BBHI4s", 14, 0x20, 2140, len(body), b".FIT")
    content = header + struct.pack("<H", fit_crc(header)) + body
    found = read(content + struct.pack("<H", fit_crc(content)))
    assert len(found.frame) == 12
    assert [each.code for each in found.findings if "time" in each.code] == ["untimed-samples"]
