"""The numbers that a choice is judged by are those of the headline."""

from ridelog.web.tray.changes import figures_of


def test_figures_are_those_of_the_answer(make_answer):
    answer = make_answer(n=50)
    figures = figures_of(answer)
    assert figures.recovered_pct == answer.energy.recovered_pct
    assert figures.returned_wh == answer.energy.returned_wh
    assert figures.captured_pct == answer.braking.captured_pct
    assert figures_of(None) is None
