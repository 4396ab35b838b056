"""The track from above: what its lines are."""

from dataclasses import replace

from ridelog.figures.look import PAPER
from ridelog.web.parts.charts.track import track_section
from tests.web.parts.test_table import said


def test_a_ride_without_positions_has_no_track(make_answer):
    series = make_answer(n=500).series
    assert track_section(make_answer(series=series.drop(columns=["east_m", "north_m"])), PAPER) is None


def test_a_track_whose_return_is_not_known_says_so(make_answer):
    answer = make_answer(n=500)
    assert "charge came back" in said(track_section(answer, PAPER))
    unknown = replace(
        answer,
        charge=replace(answer.charge, returned_ah=None),
        energy=replace(answer.energy, returned_wh=None),
    )
    assert "We do not know where charge came back." in said(track_section(unknown, PAPER))
