"""The first page: the answer in a sentence, or why there is none; dangers before the numbers."""

from ridelog.report.making import Making
from ridelog.report.ride.front import front
from tests.report.reading import Document
from tests.scenarios import sample_answer


def test_the_answer_is_the_headline():
    document = Document(front(sample_answer("commute"), Making()))
    assert document.h1.replace("\u00a0", " ") == "Of 72.9 Wh drawn, 5.89 Wh came back: 8.08 % (8.04 to 8.12 %)."


def test_without_a_share_the_headline_says_why_and_has_no_percentage():
    document = Document(front(sample_answer("no-return"), Making()))
    assert "We cannot say how much came back" in document.h1
    assert "%" not in document.h1
    assert "signed = true" in document.text


def test_dangers_stand_before_the_numbers():
    words = Document(front(sample_answer("winter"), Making())).text
    assert words.index("Danger:") < words.index("Net use")
