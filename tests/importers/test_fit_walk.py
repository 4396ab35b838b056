"""A walk along the messages of a FIT file meets what the full reader decodes, or gives up."""

import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.importers.fit import FIT_EPOCH, read_log
from ridelog.importers.fit_walk import NotPlainError, walk
from tests.importers.tracks import START, fit, samples

FIELDS = {"battery current": "A", "pack voltage": "V"}
VALUES = {"battery current": -2.5, "pack voltage": 48.5}
RIDE = fit(samples(12, **VALUES), developer_fields=FIELDS, pauses_s=[(4, 6)])


def test_a_walk_meets_every_record():
    """Times, positions, heights and developer fields are those that were written."""
    met = walk(RIDE)
    first_s = round((START - FIT_EPOCH).total_seconds())
    assert met.times == [first_s + i for i in range(12)]
    assert met.samples[5]["altitude"] == pytest.approx(20.5, abs=0.101)  # half a fifth of a metre, and rounding
    assert met.samples[0]["position_lat"] * 180 / 2**31 == pytest.approx(46.5, abs=1e-7)
    assert met.extras[7] == {("battery current", "A"): -2.5, ("pack voltage", "V"): 48.5}


def test_files_put_together_are_walked_one_after_the_other():
    assert len(walk(RIDE + fit(samples(3))).times) == 15


@pytest.mark.parametrize(
    "content",
    [
        RIDE[:-40],  # cut off
        RIDE[:4] + bytes(4) + RIDE[8:],  # never finished
        RIDE + b"\0\0",  # more behind its end
        RIDE.replace(b"\x02\x04\x00", b"\x82\x04\x00", 1) + b"\0",
    ],
)
def test_what_is_not_plain_is_left_to_the_full_reader(content):
    with pytest.raises(NotPlainError):
        walk(content)


@pytest.mark.parametrize(
    ("fields", "values"),
    [
        ([(253, 4, 0x86), (253, 4, 0x86)], bytes(8)),  # two time stamps
        ([(253, 4, 0x8C)], bytes(4)),  # in a type that has another value for "not known"
        ([(253, 4, 0x86), (6, 0, 0x84)], bytes(4)),  # a field without a byte
        ([(253, 4, 0x86), (0, 4, 0x0D)], bytes(8)),  # a place that is no number
        ([(253, 4, 0x86)], bytes([0, 0, 0, 0x10])),  # the time that the profile has a name for
    ],
)
def test_records_that_readers_differ_on_are_left_to_the_full_reader(fields, values):
    """The look took the last of two time stamps and reading the first, so that a ride was another one."""
    definition = bytes([0x40, 0, 0, 20, 0, len(fields), *(byte for field in fields for byte in field)])
    body = definition + b"\0" + values
    header = struct.pack("<BBHI4s", 12, 0x20, 2100, len(body), b".FIT")
    with pytest.raises(NotPlainError):
        walk(header + body + bytes(2))


@settings(max_examples=200)
@given(data=st.data())
def test_damaged_bytes_are_walked_or_given_up(data):
    """Whatever is overwritten, a walk ends, and with nothing worse than giving up."""
    content = bytearray(RIDE[: data.draw(st.integers(12, len(RIDE)))])
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), max_size=6)):
        content[place] = data.draw(st.integers(0, 255))
    try:
        met = walk(bytes(content))
    except NotPlainError:
        return
    assert len(met.times) == len(met.samples) == len(met.extras)


@settings(max_examples=60)
@given(st.lists(st.integers(0, 30), min_size=1, max_size=20))
def test_a_walk_meets_the_times_that_the_full_reader_settles(seconds):
    """Repeated and backward stamps included: a walk hands all of them on."""
    content = fit([{**record, "time_s": float(s)} for record, s in zip(samples(len(seconds)), seconds, strict=True)])
    met = walk(content)
    whole = read_log(content, "ride.fit", "").required()
    assert {time - met.times[0] for time in met.times} >= {int(s) for s in whole.time_s}
    assert len(met.times) == len(seconds)
