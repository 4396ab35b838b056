"""Words around charts, with the unit of the style."""

from ridelog.tell.documents import charts
from ridelog.tell.numbers import IMPERIAL, METRIC


def test_scales_say_their_unit():
    assert charts.height(METRIC) == "height, m"
    assert charts.height(IMPERIAL) == "height, ft"
    assert charts.distance(IMPERIAL) == "distance along the road, mi"
    assert charts.energy(IMPERIAL) == "energy, Wh"
    assert charts.north(METRIC) == "north of the start, m"
    assert charts.east(METRIC) == "east of the start, m"


def test_titles_say_what_is_drawn():
    assert charts.power_title("battery current") == "Battery current over the ride"
    assert charts.profile_description("A road.", energies=False) == "A road."
    assert charts.profile_description("A road.", energies=True).startswith("A road. Bars")
