"""The method in a page: steps for what was measured alone, each source once."""

from dataclasses import replace

from ridelog.tell.documents import method
from tests.scenarios import sample_answer
from tests.tell.clean import faults


def test_a_ride_without_hills_has_no_step_of_hills():
    answer = sample_answer("commute")
    assert method.HILLS in method.steps(answer)
    assert method.HILLS not in method.steps(replace(answer, hills=()))
    assert method.LEDGER not in method.steps(replace(answer, ledger=None))


def test_each_source_is_listed_once_in_order_of_use():
    listed = method.sources(method.steps(sample_answer("commute")))
    assert len(listed) == len(set(listed))
    assert listed[0] == method.COUNTING


def test_the_words_are_clean():
    for step in method.steps(sample_answer("commute")):
        assert faults(step.told) == []
    assert faults(method.LEAD) == []
