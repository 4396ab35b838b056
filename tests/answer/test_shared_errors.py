"""The errors that a ride shares with others, through JSON and back."""

import pytest

from ridelog.answer.ride import Answer
from ridelog.answer.shared_errors import SharedErrors
from tests.scenarios import SLUGS, sample_answer, through_json


@pytest.mark.parametrize("slug", SLUGS)
def test_it_comes_back_from_json_as_it_was(slug):
    answer = sample_answer(slug)
    assert Answer.from_dict(through_json(answer)).shared_errors == answer.shared_errors


def test_an_answer_of_before_there_were_any_reads_as_without():
    data = through_json(sample_answer("commute"))
    del data["shared_errors"]
    assert Answer.from_dict(data).shared_errors == SharedErrors()
