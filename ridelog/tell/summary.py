"""The ride in a few lines for a terminal, and what stands where a table has nothing to show."""

from ridelog.answer.braking import Braking
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer
from ridelog.tell.advice import ADVICE
from ridelog.tell.kinds import CHARGE, CONSUMPTION, CURRENT, DISTANCE, ENERGY, PERCENTAGE, RESISTANCE, VOLTAGE, Kind
from ridelog.tell.numbers import METRIC, Style, amount, counted, measured
from ridelog.tell.ride import is_the_most, known_part, road, sign_is_open
from ridelog.tell.times import duration, instant
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity

EMPTY_TABLE = "There is nothing to show in this table."
NO_BUDGET = "There is no recovered share, so there is no uncertainty to explain."
NO_LEDGER = "There is no ledger: it takes battery energy that flows a known way, speed and heights."


def key_figures(answer: Answer, style: Style = METRIC) -> list[tuple[str, str]]:
    """What a ride comes to, each with its name: when, how far, energy, charge, use, braking, battery."""
    ride, energy, charge = answer.ride, answer.energy, answer.charge
    start = instant(ride.start) if ride.start else "start not known"
    moving = f", {duration(ride.moving_s, style)} of it moving" if ride.moving_s is not None else ""
    rows = [
        ("ride", f"{ride.name}, {start}, {duration(ride.duration_s, style)}{moving}"),
        ("road", road(ride, style) + known_part(answer, style)),
    ]
    for name, drawn, returned, recovered, kind in (
        ("energy", energy.drawn_wh, energy.returned_wh, energy.recovered_pct, ENERGY),
        ("charge", charge.drawn_ah, charge.returned_ah, charge.recovered_pct, CHARGE),
    ):
        if drawn is None:
            continue
        if sign_is_open(answer) and returned is not None:
            rows.append((name, f"{measured(drawn, kind, style)} one way, {measured(returned, kind, style)} the other"))
        else:
            most = "at most " if is_the_most(answer, drawn) else ""
            rows.append((name, most + _shares(drawn, returned, recovered, kind, style)))
    if energy.net_wh_per_km is not None:
        gained = energy.distance_gained_m
        more = "" if gained is None else f"; what came back is good for {amount(gained.value, DISTANCE, style)}"
        rows.append(("use", f"{measured(energy.net_wh_per_km, CONSUMPTION, style)} net{more}"))
    rows.append(("braking", _braking(answer.braking, style, known_part(answer, style))))
    if told := _pack(answer.pack, style):
        rows.append(("battery", told))
    return rows


def _pack(pack: Pack, style: Style) -> str:
    """What is known of the battery, in one line; empty where nothing is."""
    parts = (
        ("resistance", pack.resistance_ohm, RESISTANCE),
        ("highest cell", pack.highest_cell_v, VOLTAGE),
        ("highest charge current", pack.highest_charge_a, CURRENT),
        ("room needed at the start", pack.start_charge_headroom_ah, CHARGE),
    )
    return "; ".join(f"{name} {measured(value, kind, style)}" for name, value, kind in parts if value is not None)


def _shares(drawn: Quantity, returned: Quantity | None, recovered: Quantity | None, kind: Kind, style: Style) -> str:
    if returned is None:
        return f"{measured(drawn, kind, style)} drawn; we do not know what came back"
    share = "" if recovered is None else f", {measured(recovered, PERCENTAGE, style)} recovered"
    return f"{measured(drawn, kind, style)} drawn, {measured(returned, kind, style)} returned{share}"


def _braking(braking: Braking, style: Style, part: str) -> str:
    n_events = counted(len(braking.events), "event")
    if braking.available_wh is None:
        return f"{n_events}; we do not know how much energy was available" if braking.events else n_events
    captured = braking.captured_pct
    share = "" if captured is None else f", {measured(captured, PERCENTAGE, style)} of it captured"
    return f"{n_events}, {measured(braking.available_wh, ENERGY, style)} available{share}{part}"


def best_advice(budget: Budget) -> str | None:
    """What would help most against the largest uncertainty; ``None`` where nothing is known to."""
    largest = budget.largest
    if largest is None or not largest.advice:
        return None
    return f"The largest part is that of {largest.name}. To shrink it, {ADVICE[largest.advice]}."


def columns_left_out(n_columns: int) -> str:
    """Columns of a table that is wider than the terminal."""
    more = counted(n_columns, "more column does", "more columns do")
    return f"{more} not fit here: with --output FILE all are written, as CSV."
