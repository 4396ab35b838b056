"""Help: the words of the contract, each once, and steps of the method that there are."""

from ridelog.tell.pages import help as words

CONTRACT = (
    "Recording",
    "Ride",
    "Drawn",
    "Returned",
    "Recovered",
    "Braking event",
    "Available",
    "Captured",
    "Hill",
    "Finding",
)


def test_each_word_of_the_contract_is_there_once():
    known = [word for word, _, _ in words.WORDS]
    assert set(CONTRACT) <= set(known)
    assert len(set(known)) == len(known)


def test_each_word_leads_to_a_step_that_is_told():
    titles = [step.title for step in words.steps()]
    assert len(set(titles)) == len(titles)
    assert {step for _, _, step in words.WORDS if step} <= set(titles)
