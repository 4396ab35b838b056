"""A walk along the messages of a FIT file meets what the full reader decodes, or gives up."""

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
