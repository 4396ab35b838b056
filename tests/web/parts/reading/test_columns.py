"""The lists offer each column of the log, every quantity and every unit."""

from ridelog.importers.preview import preview
from ridelog.recording import ColumnReading
from ridelog.vocabulary.words import QUANTITIES
from ridelog.web.parts.reading.columns import column_editor
from ridelog.web.rides import Columns
from tests.web.parts.test_table import said


def test_each_column_and_each_quantity_can_be_chosen():
    log = Columns(
        "c.csv", (ColumnReading("t", "time_s", "time"), ColumnReading("", None, ""), ColumnReading("I", None, ""))
    )
    lists = {part.id["to"]: part for part in column_editor("read-2", log, corrected=False).children[1].children}
    assert lists["read-2:column"].data == ["t", "I"]
    assert {each["value"] for each in lists["read-2:quantity"].data} == {"-", *QUANTITIES}
    assert {"A", "mA", "km/h"} <= set(lists["read-2:unit"].data)


def test_that_columns_were_corrected_is_said():
    log = Columns("c.csv", (ColumnReading("t", "time_s", "time"),))
    assert "You corrected" in said(column_editor("read-0", log, corrected=True))
    assert "You corrected" not in said(column_editor("read-0", log, corrected=False))


def test_a_log_without_times_offers_the_column_that_rises_and_a_step():
    rising = preview(range(20), map(str, range(20)))
    level = preview([48.0] * 20, ["48"])
    log = Columns("c.csv", (ColumnReading("n", None, ""), ColumnReading("U", None, "")), previews=(rising, level))
    editor = column_editor("asked-0", log, corrected=False)
    lists = {part.id["to"]: part for part in editor.children[2].children}
    assert lists["asked-0:column"].value is None  # it may only count the rows
    assert "asked-0:step" in lists
    assert "“n” rises from row to row" in said(editor)


def test_a_log_with_times_offers_no_step():
    log = Columns("c.csv", (ColumnReading("t", "time_s", "time"),), previews=(preview(range(20), ["0"]),))
    assert "asked-0:step" not in str(column_editor("asked-0", log, corrected=False))


def test_a_column_that_may_be_the_voltage_is_chosen_already_with_its_reason():
    current = [float(row % 9) for row in range(96)]
    log = Columns(
        "c.csv", (ColumnReading("I", "current_a", "current"), ColumnReading("Klemme", None, "")),
        previews=(preview(current), preview(52.0 - 0.1 * a for a in current)),
    )  # fmt: skip
    editor = column_editor("read-0", log, corrected=False)
    lists = {part.id["to"]: getattr(part, "value", None) for part in editor.children[2].children}
    assert [lists[f"read-0:{which}"] for which in ("column", "quantity", "unit", "sign")] == [
        "Klemme", "battery voltage", "V", None,
    ]  # fmt: skip
    assert "“Klemme” may be the battery's voltage: it lies at 51.2 to 52" in said(editor)
