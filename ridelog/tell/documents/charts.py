"""What stands in and around the charts of a document."""

from ridelog.tell.kinds import ENERGY, HEIGHT, LENGTH, ROAD, Kind
from ridelog.tell.numbers import Style, symbol

PROFILE = "Height along the road, and what each hill took and gave back"
MAP = "The way seen from above"
LEDGER = "Where the energy of the ride went"
TIME = "time since the start, h:mm:ss"
START, END, BOTH_ENDS = "start", "end", "start and end"
PROFILE_LEGEND = (
    "Above, the height: hills ridden up are filled, hills ridden down hatched. Below, energy: a filled bar is what the "
    "battery gave going up; an outline is what braking had available at the wheel going down, the hatched part of it "
    "what came back."
)
ROAD_LEGEND = "Hills ridden up are filled, hills ridden down hatched."
POWER_LEGEND = (
    "Above zero the battery gives, below zero it takes back. Every peak is drawn. Rails on top: hills, ▲ up and ▼ down."
)
MAP_LEGEND = "Thick: charge came back. North is up; the numbers are distances from the start."
PLAIN_MAP_LEGEND = "North is up; the numbers are distances from the start."
LEDGER_LEGEND = (
    "What takes energy away leads back to the left; what is left at the end came back. Hatched: not explained."
)


def with_unit_of(name: str, unit: str) -> str:
    """What a scale shows, and in which unit."""
    return f"{name}, {unit}"


def _scale(name: str, kind: Kind, style: Style) -> str:
    return with_unit_of(name, symbol(kind, style))


def height(style: Style) -> str:
    """Of a scale of heights."""
    return _scale("height", HEIGHT, style)


def distance(style: Style) -> str:
    """Of a scale of distances."""
    return _scale("distance along the road", ROAD, style)


def energy(style: Style) -> str:
    """Of a scale of energies."""
    return _scale("energy", ENERGY, style)


def north(style: Style) -> str:
    """Of the scale of a map that runs upward."""
    return _scale("north of the start", LENGTH, style)


def east(style: Style) -> str:
    """Of the scale of a map that runs to the right."""
    return _scale("east of the start", LENGTH, style)


def power_title(name: str) -> str:
    """Of the chart over time, which shows power or current."""
    return f"{name[:1].upper()}{name[1:]} over the ride"


def profile_description(profile: str, *, energies: bool) -> str:
    """Of the profile, for who does not see it.

    Parameters
    ----------
    profile : what its upper part shows
    energies : whether it has a lower part

    Returns
    -------
    Sentences.
    """
    return f"{profile} Bars below each hill show what it took or gave back." if energies else profile
