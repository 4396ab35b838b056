"""Equations as a printer sets them: quantities slanted, words upright, what hangs hung."""

import pytest

from ridelog.report.equations import equation, typeset
from ridelog.tell.documents import method
from ridelog.tell.documents.method import Equation
from tests.report.reading import Document


@pytest.mark.parametrize(
    ("written", "html"),
    [
        ("m g", "<i>m</i> <i>g</i>"),
        ("i_{k+1}", "<i>i</i><sub><i>k</i>+1</sub>"),
        ("v_{0}^{2}", "<i>v</i><sub>0</sub><sup>2</sup>"),
        ("Δt", "Δ<i>t</i>"),
        ("cos θ < 1", "cos <i>θ</i> &lt; 1"),
        ("{a//b_{2}}", '<span class="frac"><span><i>a</i></span><span><i>b</i><sub>2</sub></span></span>'),
        ("{dv//dt}", '<span class="frac"><span>d<i>v</i></span><span>d<i>t</i></span></span>'),
    ],
)
def test_the_notation_is_typeset(written, html):
    assert typeset(written) == html


def test_a_brace_that_nobody_closes_is_an_error():
    with pytest.raises(ValueError, match="x_"):
        typeset("x_{a")


def test_every_equation_of_the_method_is_whole_and_has_words():
    told = [each for step in vars(method).values() if isinstance(step, method.Step) for each in step.equations]
    assert len(told) >= 10
    for each in told:
        assert Document(equation(each)).wrong == []
        assert not set("{}_^") & set(Document(equation(each)).text)
        assert len(each.spoken.split()) >= 5


def test_words_of_an_equation_are_no_markup():
    assert "<b>" not in equation(Equation("a < b", '"<b>'))
