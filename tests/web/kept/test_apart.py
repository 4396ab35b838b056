"""What the rides of a store tell together is the same from a process of its own, its refusals too."""

import pandas as pd
import pytest

from ridelog.errors import RidelogError
from ridelog.fleet.store.store import open_store
from ridelog.fleet.together import audit_of_store
from ridelog.web.jobs.process import TooLongError, messages_of
from ridelog.web.kept.apart import audit_by, listed_by
from ridelog.web.kept.listed import listed
from tests.fleet.store.kept import made_ride


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    store = open_store(str(tmp_path_factory.mktemp("kept") / "store"), create=True)
    for number in range(3):
        store.write(made_ride(number, bike="Ruff" if number else "Gannet"))
    return store


def waited() -> bool:
    return False


def test_rides_and_what_they_tell_come_through_a_process_as_they_are(store):
    found, here = listed_by(messages_of, store, waited), listed(store)
    pd.testing.assert_frame_equal(found.rides, here.rides)
    pd.testing.assert_frame_equal(found.passes, here.passes)
    assert audit_by(messages_of, store, waited) == audit_of_store(store)


def test_nothing_is_told_to_a_page_that_ends(store):
    assert listed_by(lambda *_: None, store, waited) is None
    assert audit_by(lambda *_: None, store, waited) is None


def test_what_cannot_be_read_is_refused_in_the_words_of_the_process(tmp_path, store):
    broken = open_store(str(tmp_path / "store"), create=True)
    broken.write(made_ride(1))
    for path in (tmp_path / "store" / "answers").rglob("*.parquet"):
        path.write_bytes(b"no table")
    with pytest.raises(RidelogError) as here:
        listed(broken)
    with pytest.raises(RidelogError) as apart:
        listed_by(messages_of, broken, waited)
    assert apart.value.lines() == here.value.lines()


@pytest.mark.parametrize(("ended", "said"), [(TooLongError, "took longer"), (EOFError, "took more memory")])
def test_a_process_that_is_ended_is_said_in_a_sentence(store, ended, said):
    def run(*_given: object) -> None:
        raise ended

    with pytest.raises(RidelogError, match=said):
        listed_by(run, store, waited)
