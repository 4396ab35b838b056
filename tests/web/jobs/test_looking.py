"""Looks go from process to process as data, and come back as they were."""

import pickle

import pytest

from ridelog.web.jobs.looking import heard, look_into, told, unseen
from tests.places import SAMPLES

PATHS = [SAMPLES / "commute" / "controller.csv", SAMPLES / "commute" / "track.gpx"]


def test_what_was_seen_is_heard_as_it_was():
    looks = look_into(PATHS)
    assert heard(told(looks), PATHS) == looks
    assert looks[0].electrical
    assert looks[1].track


@pytest.mark.parametrize("message", [b"", b"[]", b"[1, 2]", b'[{"sha256": 1}, {}]', pickle.dumps([1, 2])])
def test_what_is_no_look_is_refused(message):
    with pytest.raises((ValueError, TypeError, KeyError)):
        heard(message, PATHS)


def test_a_file_that_nobody_could_look_into_is_refused():
    assert all(look.error is not None for look in unseen(PATHS))
