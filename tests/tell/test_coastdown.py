"""A coast-down in words, in either system."""

from ridelog.answer.coastdown import CoastDown, CoastedRide, CoastStretch, Measured
from ridelog.tell import coastdown
from ridelog.tell.numbers import IMPERIAL
from ridelog.tell.table import heads, text_of

STRETCHES = (
    CoastStretch(10.0, 40.0, 11.176, 4.4704, 230.0, -0.4, 42.0, 0, 1, True, 0.1),
    CoastStretch(90.0, 110.0, 10.0, 5.0, 150.0, None, None, 0, -1, False, None),
)
FITTED = CoastDown(
    CoastedRide("ride"),
    stretches=STRETCHES,
    cda_m2=Measured(0.58, 0.45, 0.71, 0.065),
    constant_n=Measured(8.0, 5.0, 11.0, 1.5),
    crr_with_drag=Measured(0.0074, 0.0048, 0.0099, 0.0013),
    speed_noise_mps=0.0912,
)


def test_the_headline_says_what_the_rolling_figure_holds():
    """1 ft² is 0.0929 m²: 0.58 m² are 6.24 ft²."""
    assert coastdown.headline(FITTED) == (
        "CdA 0.58 m² (0.45 to 0.71); Crr 0.0074 (0.0048 to 0.0099), with the motor's drag in it."
    )
    assert coastdown.headline(FITTED, IMPERIAL).startswith("CdA 6.2 ft² (4.8 to 7.6); Crr 0.0074")


def test_without_a_fit_the_headline_says_why():
    assert coastdown.headline(CoastDown(CoastedRide("ride"))).startswith("Nothing could be fitted")
    assert coastdown.key_figures(CoastDown(CoastedRide("ride"))) == []


def test_the_key_figures_tell_what_they_rest_on():
    """One stretch in use, 30 s, from 4.47 to 11.2 m/s: 16 to 40 km/h, 10 to 25 mph."""
    metric, imperial = (dict(coastdown.key_figures(FITTED, *style)) for style in ((), (IMPERIAL,)))
    assert metric["from"] == "1 stretch of coasting, 30 s, 16 to 40 km/h; speeds scatter about the fit by 0.09 m/s"
    assert imperial["from"].startswith("1 stretch of coasting, 30 s, 10 to 25 mph; ")
    assert metric["constant drag"] == "8.0 N (5.0 to 11.0), rolling and motor together"
    assert metric["rolling"].endswith("if all of it were rolling")


def test_each_stretch_is_a_row():
    """A road ridden the other way has the same number; what is not known is a dash."""
    table = coastdown.stretches(FITTED)
    shown = [
        [text_of(cell, column, IMPERIAL) for cell, column in zip(row, table.columns, strict=True)] for row in table.rows
    ]
    assert heads(table.columns, IMPERIAL)[2:4] == ["speed mph", "length ft"]
    assert shown[0] == ["10", "30", "25.0 to 10.0", "755", "-0.4", "42", "1", "yes"]
    assert shown[1][-4:] == ["–", "–", "1 back", "no"]
