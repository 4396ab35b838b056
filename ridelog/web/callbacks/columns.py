"""A column of a log is read as the visitor says, in this log and in all others with the same header."""

from io import BytesIO
from typing import Any, Literal

from dash import ALL, Dash, Output, State, ctx, no_update

from ridelog.errors import ColumnMapError
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings, read_map
from ridelog.tell.pages import changes
from ridelog.tell.pages import columns as words
from ridelog.tell.refusals.commands import not_your_ride
from ridelog.web import ids
from ridelog.web.callbacks.pressed import pressed, presses_of
from ridelog.web.callbacks.ride import Rides
from ridelog.web.parts.reading.columns import LEFT_OUT
from ridelog.web.tray.visitor import visitor

Chosen = dict[str, str | None]
CHOICES = ("column", "quantity", "unit", "sign", "step")


def map_with(text: str | None, chosen: Chosen) -> str:
    """A column map in which one column, or the step from row to row, is what was chosen, and all else as it was.

    Parameters
    ----------
    text : the map so far
    chosen : "column", "quantity", "unit" and "sign", each as its list has it, and "step" as it was written

    Returns
    -------
    The map as TOML.

    Raises
    ------
    ColumnMapError : the unit is not one of that quantity, or the step is none
    """
    before = read_map(BytesIO(text.encode())) if text else ColumnMap()
    log, columns, about = before.log, before.column, words.STEP
    if (step := step_of(chosen)) is not None:
        log = LogSettings.model_construct(**{**log.model_dump(), "step_s": step})
    if (header := chosen.get("column")) and chosen.get("quantity"):
        columns = (*(each for each in columns if each.header != header), _entry(header, chosen))
        about = header
    written = ColumnMap.model_construct(log=log, column=columns).to_toml()
    read_map(BytesIO(written.encode()), name=about)
    return written


def _entry(header: str, chosen: Chosen) -> ColumnEntry:
    quantity = chosen["quantity"]
    if quantity == LEFT_OUT:
        return ColumnEntry(header=header, use=False)
    sign: Literal[-1, 1] | None = {"1": 1, "-1": -1}.get(chosen.get("sign") or "")  # type: ignore[assignment]
    return ColumnEntry.model_construct(header=header, quantity=quantity, unit=chosen.get("unit"), sign=sign)


def step_of(chosen: Chosen) -> float | None:
    """The step that was written [s]; ``None`` where none was, NaN where it is no number."""
    written = (chosen.get("step") or "").strip().replace(",", ".")
    if not written:
        return None
    try:
        return float(written)
    except ValueError:
        return float("nan")


def in_words(chosen: Chosen) -> str:
    """What was chosen."""
    said = []
    if (header := chosen.get("column")) and (quantity := chosen.get("quantity")):
        named = None if quantity == LEFT_OUT else quantity
        said.append(changes.column(header, named, chosen.get("unit"), turned=chosen.get("sign") == "-1"))
    if chosen.get("step"):
        said.append(changes.step(str(chosen["step"])))
    return "; ".join(said)


def add_columns(app: Dash, rides: Rides) -> None:
    """Register what the lists of columns do.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """

    def correct(said: Any, _values: Any, ride: Any, tray: Any) -> tuple[Any, Any]:
        if (press := pressed(said)) is None:
            return no_update, no_update
        name = press.to
        number = name.rpartition("-")[2]
        cells = {each["id"]["to"]: each.get("value") for each in ctx.states_list[0]}
        chosen = {which: cells.get(f"{name}:{which}") for which in CHOICES}
        if not (chosen["column"] and chosen["quantity"]) and not chosen["step"]:
            return no_update, words.NO_COLUMN
        try:
            done = _corrected(rides, (ride or {}).get("token"), number, chosen)
        except ColumnMapError as error:
            return no_update, error.what
        if not done:
            return no_update, not_your_ride()
        return {"asked": ((tray or {}).get("asked") or 0) + 1}, ""

    app.callback(
        Output(ids.TRAY, "data", allow_duplicate=True), Output(ids.READ_SAID, "children"),
        presses_of(app, ids.CORRECT), State({"type": ids.CELL, "to": ALL}, "value"),
        State(ids.RIDE, "data"), State(ids.TRAY, "data"),
        prevent_initial_call=True,
    )(correct)  # fmt: skip


def _corrected(rides: Rides, token: str | None, number: str, chosen: Chosen) -> bool:
    """Whether the column was one of a ride of the visitor's, which is now read anew."""
    shown = rides.store.get(token)
    with rides.trays.tray(visitor()) as tray:
        if shown is None or tray.ride(token) is None or not number.isdigit() or int(number) >= len(shown.columns):
            return False
        log = shown.columns[int(number)]
        if chosen["column"] and chosen["column"] not in {reading.header for reading in log.readings}:
            return False
        written = map_with(tray.corrections.get(log.header), chosen)
        rides.trays.correct(visitor(), log.header, written, in_words(chosen))
        return True
