"""What regeneration is worth, on the page."""

import json

from dash import Dash
from plotly.utils import PlotlyJSONEncoder

from ridelog.answer.braking import Braking
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, Energy, RideSummary
from ridelog.answer.worth import Worth
from ridelog.findings import Finding
from ridelog.uncertain.quantity import Quantity
from ridelog.web import text
from ridelog.web.worth import worth_section

RIDE = RideSummary("ride", None, 600.0, None, None, None, None)
BACK = Energy(Quantity(100.0), Quantity(5.0), Quantity(5.0), None, None)
WORTH = Worth(
    "direct-drive",
    True,
    None,
    "what came back is not known",
    None,
    km_per_year=2000.0,
    kwh_per_year=Quantity(0.1, -0.5, 0.7),
    missing=("pack.capacity_ah for the range on the day",),
)


def answer(worth, *findings):
    return Answer(
        ride=RIDE,
        sources=(),
        charge=Charge(None, None, None),
        energy=BACK,
        braking=Braking(None, None, None, ()),
        hills=(),
        hill_pairs=(),
        pack=Pack(),
        findings=findings,
        worth=worth,
    )


def words_of(component):
    return json.dumps(component, cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_the_section_tells_the_verdict_and_what_it_stands_on():
    told = words_of(worth_section(answer(WORTH)))
    for words in ("Is it worth it?", "what came back is not known", "A year", "2000 km", "pack.capacity_ah"):
        assert words in told


def test_a_loss_has_a_true_minus_sign():
    assert f"({text.MINUS}0.50 to 0.70) kWh" in words_of(worth_section(answer(WORTH)))


def test_a_ride_without_current_has_no_section():
    assert worth_section(answer(None)) is None


def test_the_section_is_a_layout_that_dash_takes():
    app = Dash("test", add_log_handler=False)
    app.layout = worth_section(answer(WORTH))


def test_a_return_that_cannot_be_is_no_headline():
    """The share of a motor behind a freewheel is not told; the finding that says why is."""
    finding = Finding("return-without-regen", "warning", "A mid-drive motor cannot return anything.")
    assert text.headline(answer(WORTH)).share is not None
    head = text.headline(answer(WORTH, finding))
    assert (head.share, head.reason) == (None, finding.message)
