"""What limits a comparison of rides, and what to do about it."""

from collections.abc import Mapping

from ridelog.tell.findings.words import ASK, Stated, Template, case, listed, quoted
from ridelog.tell.kinds import CONSUMPTION, PERCENTAGE, POINTS, Kind
from ridelog.tell.numbers import Style, amount, counted

MOST_NAMES = 5
QUANTITIES: Mapping[str, str] = {
    "recovered_pct": "what was recovered",
    "captured_pct": "what was captured",
    "net_wh_per_km": "what was used",
}
CONDITIONS: Mapping[str, str] = {
    "moving_speed_mps": "speed in motion",
    "braking_speed_mps": "speed as braking begins",
    "stopped_pct": "time spent standing",
    "total_mass_kg": "mass",
    "air_temperature_c": "air temperature",
    "wind_mps": "wind",
    "start_charge_pct": "charge at the start",
    "start_voltage_v": "voltage at the start",
    "distance_m": "distance",
    "ascent_m": "ascent",
    "most_ridden_route_pct": "route",
}


def kind_of(quantity: str, *, differs: bool = False) -> Kind:
    """Of what kind a compared quantity is, or its difference.

    Parameters
    ----------
    quantity : its name
    differs : of the difference, which is in points where the quantity is in percent

    Returns
    -------
    The kind.
    """
    if quantity.endswith("wh_per_km"):
        return CONSUMPTION
    return POINTS if differs else PERCENTAGE


def _what(stated: Stated) -> str:
    return listed([QUANTITIES[each] for each in stated.texts("quantities")])


def _names(stated: Stated, name: str) -> str:
    all_of_them = stated.texts(name)
    more = len(all_of_them) - MOST_NAMES
    named = [quoted(each) for each in all_of_them[:MOST_NAMES]]
    return listed([*named, f"{more} more"] if more > 0 else named)


def one_ride_in_group(stated: Stated, style: Style) -> str:
    """Nothing shows how rides of a group differ."""
    del style
    return (
        f"The group {quoted(stated.text('group'))} has one ride that tells {_what(stated)}: nothing shows how much its "
        "rides differ, so no difference from it can be told. Ride it again, three times at least."
    )


def quantity_unknown_in_group(stated: Stated, style: Style) -> str:
    """No ride of a group tells it."""
    del style
    return (
        f"No ride of the group {quoted(stated.text('group'))} tells {_what(stated)}, so nothing can be said of how "
        "that differs."
    )


def rides_without_partner(stated: Stated, style: Style) -> str:
    """Rides outside all pairs."""
    n = stated.count("n_rides")
    of = listed([quoted(stated.text("first")), quoted(stated.text("second"))])
    return (
        f"Of the groups {of}, {counted(n, 'ride', style=style)} had no partner on the same route and "
        f"{'is' if n == 1 else 'are'} left out of the pairs, though not of the groups' own figures."
    )


def routes_differ(stated: Stated, style: Style) -> str:
    """Too few pairs, and routes that are not the same."""
    del style
    of = listed([quoted(stated.text("first")), quoted(stated.text("second"))])
    return (
        f"The groups {of} share too few rides of one route to be paired, so all rides of each are compared: what "
        "differs may be the routes. Ride the same route under each set-up, three times at least, by turns."
    )


def errors_not_shared(stated: Stated, style: Style) -> str:
    """Errors that do not cancel weigh more than chance."""
    what = amount(stated.number("shared_u"), kind_of(stated.text("quantity"), differs=True), style, digits=2)
    of = listed([quoted(stated.text("first")), quoted(stated.text("second"))])
    causes = listed(stated.texts("causes"))
    moved = case(stated, "quantity", QUANTITIES)
    does = (
        "Loggers and bikes are the same: these errors move the larger of two shares by more. Narrower limits in the "
        "bike file make them smaller, where you know its values better."
        if stated.flag("same_loggers_and_bikes")
        else "Use the same logger on the same bike for both."
    )
    return (
        f"Between {of}, errors of {moved} do not cancel ({causes}): their standard uncertainty is {what}, "
        f"which no number of rides takes away. {does}"
    )


def bikes_by_folder(stated: Stated, style: Style) -> str:
    """Nobody said whether it was one bike."""
    del style
    of = listed([quoted(bike) for bike in stated.texts("bikes")])
    return (
        f"No bike file says which bike it was, so that {of} count as bikes of their own, each with a logger of its "
        "own: their errors do not cancel. Where it was one bike, give all rides its bike file, if only with a name in "
        "it."
    )


def shared_errors_unknown(stated: Stated, style: Style) -> str:
    """Answers of before."""
    n = stated.count("n_rides")
    return (
        f"{counted(n, 'ride', style=style)} ({_names(stated, 'rides')}) {'was' if n == 1 else 'were'} measured by an "
        "earlier version, which did not say which errors rides share: between different loggers none is known to "
        "cancel, so that less can be told. Compare the folders of their logs instead, which measures them again."
    )


def ride_model_failed(stated: Stated, style: Style) -> str:
    """The mixed model found no maximum."""
    del style
    of = listed([quoted(stated.text("first")), quoted(stated.text("second"))])
    return (
        f"Hill by hill, no mixed model could be fitted for {of}; the means of the rides over their hills were compared "
        "instead."
    )


def conditions_differ(stated: Stated, style: Style) -> str:
    """Something else than the set-up was otherwise."""
    del style
    told = [CONDITIONS[each] for each in stated.texts("conditions")]
    corrected = [CONDITIONS[each] for each in stated.texts("corrected")]
    mended = (
        f" The corrected figures take {listed(corrected)} into account." if corrected else " Nothing corrects for that."
    )
    return f"The groups also differ in {listed(told)}, which may be what is seen.{mended}"


def rides_not_corrected(stated: Stated, style: Style) -> str:
    """Rides without what a correction needs."""
    n = stated.count("n_rides")
    return (
        f"{counted(n, 'ride', style=style)} ({_names(stated, 'rides')}) {'stands' if n == 1 else 'stand'} in the "
        "corrected figures as ridden: without heights, speed and battery energy nothing says what air took."
    )


def rides_with_dangers(stated: Stated, style: Style) -> str:
    """Rides whose own findings are grave."""
    n = stated.count("n_rides")
    return (
        f"{counted(n, 'ride', style=style)} ({_names(stated, 'rides')}) {'has' if n == 1 else 'have'} findings of "
        f"severity danger ({listed(stated.texts('codes'))}): read them with `ridelog measure` before you ride or "
        f"charge again. {ASK}."
    )


TEMPLATES: Mapping[str, Template] = {
    "one-ride-in-group": one_ride_in_group,
    "quantity-unknown-in-group": quantity_unknown_in_group,
    "rides-without-partner": rides_without_partner,
    "routes-differ": routes_differ,
    "bikes-by-folder": bikes_by_folder,
    "errors-not-shared": errors_not_shared,
    "shared-errors-unknown": shared_errors_unknown,
    "ride-model-failed": ride_model_failed,
    "conditions-differ": conditions_differ,
    "rides-not-corrected": rides_not_corrected,
    "rides-with-dangers": rides_with_dangers,
}
