"""The coasting of a ride on the page: stretches to choose from, and values to take over."""

import json

from plotly.utils import PlotlyJSONEncoder

from ridelog.answer.coastdown import CoastDown, CoastedRide, CoastStretch, Measured
from ridelog.errors import InputError
from ridelog.tell.numbers import METRIC
from ridelog.web.parts.bike.coasting import coasting_offer
from ridelog.web.tray.tray import Coasting

DRAG = Measured(0.56, 0.5, 0.62, 0.03)
STRETCHES = tuple(CoastStretch(t, t + 20, 8.0, 6.0, 140.0, 0.1, 12.0, 0, 1, t < 50, 0.02) for t in (1.0, 51.0))
FOUND = CoastDown(CoastedRide("r"), cda_m2=DRAG, constant_n=Measured(9.0, 8.0, 10.0, 0.5),
                  crr_with_drag=Measured(0.008, 0.007, 0.009, 0.0005), settled=True, stretches=STRETCHES)  # fmt: skip


def text_of(coasting, rides=None):
    parts = coasting_offer("t", rides or {"t": "To work"}, coasting, METRIC)
    return json.dumps(parts, cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_each_stretch_can_be_chosen_and_what_was_found_can_be_taken_over():
    told = text_of(Coasting("t", told=FOUND))
    assert "Take over Drag area CdA 0.56 ± 0.052" in told  # 3 cm² of standard uncertainty times the root of 3
    assert told.count('"type": "stretch"') == 2
    assert told.count('"checked": true') == 1
    assert '"label": "Fit' not in told
    assert "Fit the chosen stretches" in told


def test_what_is_less_sure_than_without_is_not_offered():
    told = text_of(Coasting("t", told=CoastDown(CoastedRide("r"), stretches=STRETCHES)))
    assert "Nothing could be fitted" in told
    assert "Nothing is offered" in told
    assert "Take over" not in told


def test_it_says_what_it_waits_for_or_why_it_has_nothing():
    assert "Looking for coasting" in text_of(Coasting("t", job="x"))
    assert "a.csv: is empty" in text_of(Coasting("t", told=InputError("a.csv", "is empty")))
    assert '"display": "none"' in text_of(None)  # one ride is no choice
    assert '"display": "none"' not in text_of(None, {"t": "one", "u": "other"})
