"""A column of a log corrected by choosing from lists: what it holds, in which unit, and which way it counts."""

from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.tell.pages import columns as words
from ridelog.vocabulary.units import UNITS
from ridelog.vocabulary.words import QUANTITIES
from ridelog.web import ids
from ridelog.web.parts.acts import act_button
from ridelog.web.parts.reading.proposed import proposed_voltage
from ridelog.web.rides import Columns

VOLTAGE = "battery voltage"
LEFT_OUT = "-"  # in the place of a quantity


def column_editor(name: str, columns: Columns, *, corrected: bool) -> Any:
    """The lists by which a column of a log is corrected.

    Parameters
    ----------
    name : of the lists, which ends in the number of the log among those of the ride
    columns : how they were understood
    corrected : the visitor corrected some before

    Returns
    -------
    Component.
    """
    is_text = any(each.cells for each in columns.previews)  # a format of its own states times
    is_timed = not is_text or any(each.channel == "time_s" for each in columns.readings)
    rising = [] if is_timed else _rising(columns)
    headers = list(dict.fromkeys(each.header for each in columns.readings if each.header.strip()))
    units = list(dict.fromkeys(unit.name for unit in UNITS.values()))
    quantities = [{"value": LEFT_OUT, "label": words.LEFT_OUT}, *({"value": q, "label": q} for q in QUANTITIES)]
    signs = [{"value": "1", "label": words.AS_WRITTEN}, {"value": "-1", "label": words.TURNED}]
    said, chosen = _proposed(columns)
    back = act_button(f"plain:{columns.header}", words.BACK)
    return html.Div(
        [
            *([html.P(words.may_be_time(rising))] if rising else []),
            *said,
            html.P(words.LEAD, className="gloss"),
            html.Div(
                [
                    _choice(name, "column", words.COLUMN, headers, chosen.get("column")),
                    _choice(name, "quantity", words.QUANTITY, quantities, chosen.get("quantity")),
                    _choice(name, "unit", words.UNIT, units, chosen.get("unit")),
                    _choice(name, "sign", words.SIGN, signs),
                    *([] if is_timed else [_step(name)]),
                    dmc.Button(words.READ_SO, id={"type": ids.CORRECT, "to": name}, variant="default", size="sm"),
                ],
                className="fields",
            ),
            html.P([words.CORRECTED, " ", back], className="gloss") if corrected else None,
        ],
        className="editor",
    )


def _proposed(columns: Columns) -> tuple[list[Any], dict[str, str]]:
    """What is chosen before anybody chose, and why."""
    if (found := proposed_voltage(columns)) is None:
        return [], {}
    why = html.P(words.may_be_voltage(found.header, found.reached, found.unit))
    return [why], {"column": found.header, "quantity": VOLTAGE, "unit": found.unit}


def _rising(columns: Columns) -> list[str]:
    """Columns of a log without times that may be the time."""
    seen = zip(columns.readings, columns.previews, strict=False)
    return [reading.header for reading, preview in seen if preview.rises and reading.header.strip()]


def _step(name: str) -> Any:
    return dmc.TextInput(
        id={"type": ids.CELL, "to": f"{name}:step"}, label=words.STEP, value="", size="sm",
        inputProps={"inputMode": "decimal"},
    )  # fmt: skip


def _choice(name: str, which: str, label: str, data: list[Any], value: str | None = None) -> Any:
    return dmc.Select(
        id={"type": ids.CELL, "to": f"{name}:{which}"}, label=label, data=data, value=value, clearable=True,
        allowDeselect=False,
        searchable=len(data) > 8, size="sm",
    )  # fmt: skip
