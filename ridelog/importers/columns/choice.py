"""Which of several columns is the one of its quantity: by the map, by words, or by what the values prove."""

from collections.abc import Iterable, Sequence

import numpy as np

from ridelog.importers.columns import evidence
from ridelog.importers.columns.column import Assignment, Column, Habits, Question, entry_table
from ridelog.importers.columns.units import ask_unit, settle_counter
from ridelog.tell.reasons import columns as reasons
from ridelog.tell.refusals import columns as refusals
from ridelog.vocabulary.headers import quantity_named


def keep_one(todo: Assignment, quantity: str) -> None:
    """Keep one column of a quantity: the format's own, the map's, the best by its words, or the one values prove."""
    is_counter = quantity.endswith("counter")
    if quantity_named(quantity) is None and not is_counter:
        return
    columns = todo.of(quantity)
    if natives := [c for c in columns if c.native]:
        _leave_out(columns, natives, reasons.formats_own(natives[0].header))
        return
    if mapped := [c for c in columns if c.by_map]:
        _leave_out(columns, mapped, reasons.MAP_NAMES_ANOTHER)
        columns = mapped
    if not is_counter and len(columns) > 1 and any(c.channel != "joined" for c in columns):
        columns = _best_of(todo, quantity, columns)
    for column in columns:
        if is_counter:
            settle_counter(todo, column)
        else:
            ask_unit(todo, column, quantity)


def _leave_out(columns: Iterable[Column], kept: Sequence[Column], why: str) -> None:
    for column in columns:
        if not any(column is other for other in kept):
            column.leave_out(why)


def _best_of(todo: Assignment, quantity: str, columns: list[Column]) -> list[Column]:
    """The one column that is kept; none where a question decides which."""
    best, one_way = _ranked(columns)
    if quantity not in ("battery current", "battery voltage", "battery power"):
        _leave_out(columns, best[:1], reasons.another_is_read(best[0].header))
        return best[:1]
    kept, why = best[0], reasons.said_more_plainly(best[0].header)
    others = [c for c in best[1:] + one_way if not _same(kept, c) and not _part_of(c, kept)]
    _sign_from_parts(kept, one_way)
    if others:
        proven = _proven(todo, quantity, [*best, *one_way])
        if proven is None:
            _ask_which(todo, quantity, [kept, *others])
            return []
        kept, reason = proven
        kept.reasons.append(reason)
        why = reasons.proven(kept.header, quantity, reason)
    _leave_out(columns, [kept], why)
    return [kept]


def _ranked(columns: list[Column]) -> tuple[list[Column], list[Column]]:
    """The columns that say it most plainly, and those of one direction only that stand beside others."""
    signed = [c for c in columns if not c.sign_settled] or columns
    lowest = min(c.meaning.rank for c in signed)
    best = [c for c in signed if c.meaning.rank == lowest]
    return best, [c for c in columns if c.sign_settled and not any(c is other for other in signed)]


def _sign_from_parts(whole: Column, parts: Iterable[Column]) -> None:
    """What the words call "into the battery" is the whole column's negative (or positive) side: that tells its sign."""
    for part in parts:
        if (way := _part_of(part, whole)) and not whole.sign_settled:
            whole.sign, whole.sign_settled = whole.sign * way * part.sign, True
            whole.reasons.append(reasons.sign_by_part(part.header, positive=way > 0))


def _same(one: Column, other: Column) -> bool:
    """Whether two columns hold the same values, whatever their units say."""
    if one.values is None or other.values is None:
        return False
    a, b = (one.si, other.si) if one.unit and other.unit else (one.values, other.values)
    scale = float(np.nanmax(np.abs(a))) or 1.0
    close = np.abs(a - b) <= 0.01 * scale
    return bool(np.mean(close[np.isfinite(a - b)]) > 0.99) if np.isfinite(a - b).any() else False


def _part_of(part: Column, whole: Column) -> int:
    """1 where a column holds the positive side of the other, -1 where it holds the negative one, otherwise 0."""
    if not (part.unit and whole.unit):
        return 0
    size, flow = np.abs(part.si), whole.si
    known_mask = np.isfinite(size) & np.isfinite(flow)
    limit = 0.02 * float(np.max(np.abs(flow[known_mask]), initial=0.0))
    for way in (1, -1):
        off = np.abs(size - np.clip(way * flow, 0, None))[known_mask]
        if limit and size[known_mask].any() and float(np.mean(off <= limit)) > 0.98:
            return way
    return 0


def _proven(todo: Assignment, quantity: str, columns: list[Column]) -> tuple[Column, str] | None:
    """The one current that is power / voltage (or the one power that is voltage · current)."""
    volts = todo.first("battery voltage")
    counterpart = todo.of("battery power" if quantity == "battery current" else "battery current")
    if volts is None or len(counterpart) != 1 or not counterpart[0].unit or quantity == "battery voltage":
        return None
    other = counterpart[0]
    fitting = []
    for column in columns:
        if not column.unit:
            continue
        power, current = (other, column) if quantity == "battery current" else (column, other)
        found = evidence.power_ratio(np.abs(power.si), volts.si, np.abs(current.si))
        if found and abs(found[0] - 1) < 0.1 and found[1] > 0.6:
            fitting.append((column, reasons.gives_the_power(1 / found[0])))
    if len(fitting) != 1:
        return None
    return fitting[0]


def _ask_which(todo: Assignment, quantity: str, columns: list[Column]) -> None:
    first, *others = columns
    unit = first.unit.name if first.unit else None
    other = refusals.or_else([column.header for column in others], quoted="'")
    text = refusals.which_of([column.header for column in columns], quantity)
    todo.ask(Question(text, entry_table(first.header, quantity, unit), other), columns)


def join_directions(todo: Assignment, quantity: str) -> None:
    """Two columns without sign, one of what flows out and one of what flows in, belong together."""
    directed = [c for c in todo.of(quantity) if c.sign_settled and c.unit]
    out, back = ([c for c in directed if c.sign == sign] for sign in (1, -1))
    if len(out) != 1 or len(back) != 1 or len(todo.of(quantity)) != 2:
        return
    for column, into in ((out[0], False), (back[0], True)):
        values = column.values if column.values is not None else np.empty(0)
        if np.nanmin(values) < 0 < np.nanmax(values):
            return
        if np.nanmax(values) <= 0:
            column.values = np.abs(values)
        column.reasons.append(reasons.joined(into=into))
        column.channel = "joined"


def settle_bare_power(todo: Assignment) -> None:
    """A power whose words do not say whose: the battery's, if voltage and a current agree to it."""
    for column in todo.of("battery power"):
        if column.by_map or _says_battery(column, todo.habits) or not column.unit:
            continue
        found = _ratios_to_flow(todo, column)
        agreeing = [middle for middle, share in found if abs(middle - 1) < 0.25 and share >= 0.5]
        if agreeing:
            column.reasons.append(reasons.is_power_of_flow(agreeing[0]))
        elif todo.habits.bare_power:
            column.quantity = todo.habits.bare_power
            column.reasons.append(reasons.bare_power(todo.habits.bare_power))
        elif found:
            column.leave_out(reasons.whose_power(found[0][0]))
        elif any(c.quantity == "cadence" for c in todo.columns):
            text, other = refusals.whose_power(column.header), refusals.or_else(["rider power"], quoted='"')
            table = entry_table(column.header, "battery power", column.unit.name)
            todo.ask(Question(text, table, other), [column])


def _ratios_to_flow(todo: Assignment, power: Column) -> list[tuple[float, float]]:
    """A power over voltage · current, for each current: the median, and the share of samples near it."""
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    if volts is None:
        return []
    currents = [current for current in todo.of("battery current") if current.unit]
    size = np.abs(power.si)
    ratios = [evidence.power_ratio(size, volts.si, np.abs(current.si)) for current in currents]
    return [ratio for ratio in ratios if ratio]


def _says_battery(power: Column, habits: Habits) -> bool:
    """Whether the words of a power say that it is the battery's."""
    concepts = power.meaning.concepts
    electrical = power.meaning.sign_stated or "electric" in concepts
    return "battery" in concepts or bool(habits.bare_power and electrical)


def settle_controller_current(todo: Assignment) -> None:
    """A controller's current flows on its battery's or its motor's side: power / voltage shows which, or a question."""
    volts, power = todo.first("battery voltage"), todo.first("battery power")
    for column in todo.of("battery current"):
        if column.by_map or not column.unit or "controller" not in column.meaning.concepts:
            continue
        if "battery" in column.meaning.concepts:
            continue
        found = evidence.power_ratio(np.abs(power.si), volts.si, np.abs(column.si)) if power and volts else None
        if found and abs(found[0] - 1) < 0.1 and found[1] > 0.6:
            column.reasons.append(reasons.on_the_batterys_side(found[0]))
            continue
        text, other = refusals.which_side(column.header), refusals.or_else(["motor current"], quoted='"')
        table = entry_table(column.header, "battery current", column.unit.name)
        todo.ask(Question(text, table, other), [column])
