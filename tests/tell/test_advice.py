"""What would shrink an uncertainty, in words."""

from typing import get_args

from ridelog.tell.advice import ADVICE
from ridelog.uncertain.budget import Advice


def test_every_advice_has_its_words():
    assert list(ADVICE) == list(get_args(Advice))
    assert all(words and not words.endswith(".") for advice, words in ADVICE.items() if advice)
