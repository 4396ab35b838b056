"""The method of a comparison: the steps that were taken alone."""

from dataclasses import replace

from ridelog.report.equations import equation
from ridelog.tell.documents import comparing
from tests.compare.campaigns import told_comparison
from tests.report.reading import Document
from tests.tell.clean import faults


def test_only_steps_that_were_taken_are_told():
    steps = comparing.steps(told_comparison())
    assert {comparing.CORRECTED, comparing.PRECISION, comparing.AGREEMENT} <= set(steps)
    assert comparing.HILLS not in steps
    bare = comparing.steps(replace(told_comparison(), differences=(), loggers=(), groups=()))
    assert bare == [comparing.SHARED, comparing.VERDICT]


def test_words_are_clean_and_equations_whole():
    for step in comparing.steps(told_comparison()):
        assert faults(step.told) == [] or step is comparing.PRECISION
        for each in step.equations:
            assert Document(equation(each)).wrong == []
