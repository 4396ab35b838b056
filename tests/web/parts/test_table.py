"""What a table's cells say, to those who see it and to those who hear it."""

import json

import plotly.utils
from dash import Dash

from ridelog.answer.pack import Pack
from ridelog.tell import tables
from ridelog.tell.kinds import ENERGY
from ridelog.tell.numbers import IMPERIAL, METRIC, PAGE, typeset
from ridelog.tell.table import Column, Table
from ridelog.uncertain.budget import Budget, BudgetRow
from ridelog.uncertain.quantity import Quantity
from ridelog.web.parts.table import body, component, content
from tests.tell.ledgers import BANDS, LEDGER

WH = Column("energy", "energy")


def said(cell) -> str:
    """All text of a component in reading order."""
    plain = json.loads(json.dumps(cell, cls=plotly.utils.PlotlyJSONEncoder))

    def walk(node):
        if isinstance(node, dict):
            yield from walk(node["props"].get("children"))
        elif isinstance(node, list):
            for each in node:
                yield from walk(each)
        elif node is not None:
            yield str(node)

    return "".join(walk(plain)).replace("\xa0", " ")


def test_an_interval_is_called_so_for_those_who_hear_it():
    """Without a word between them, "6.4" and "5.5 to 6.9" are heard as one number."""
    assert said(content(Quantity(6.4, 5.5, 6.9), WH, METRIC, 1)) == "6.4 95 % interval 5.5 to 6.9"


def test_an_interval_narrower_than_the_digits_shown_says_nothing():
    """ "0.10, 0.10 to 0.10" would tell a reader nothing."""
    assert said(content(Quantity(0.102, 0.099, 0.104), WH, METRIC, 2)) == "0.10"
    assert said(content(Quantity(0.102, None, None), WH, METRIC, 2)) == "0.10"
    assert said(content(None, WH, METRIC, 2)) == "–"


def test_energies_side_by_side_have_the_same_decimals(make_answer):
    """Available 2.4 and returned 0.5 Wh: both to two decimals, as the larger of them asks for."""
    told = said(component(tables.events(make_answer()), PAGE))
    assert "2.40" in told
    assert "0.50" in told


def test_the_head_names_each_unit_in_the_style_and_the_cells_follow(make_answer):
    """7 m/s are 25 km/h or 16 mph, 21 m are 69 ft."""
    table = tables.events(make_answer())
    metric, imperial = (said(component(table, typeset(style))) for style in (METRIC, IMPERIAL))
    for words in ("Speed, km/h", "Drop, m", "25 → 0", "21.0"):
        assert words in metric
    for words in ("Speed, mph", "Drop, ft", "16 → 0", "69"):
        assert words in imperial


def test_columns_of_which_nothing_is_known_are_left_out():
    table = Table("t", "T", (Column("a", "a"), Column("b", "b")), ((Quantity(1.0), None), (None, None)))
    assert said(component(table, PAGE)) == "A1.00–"


def test_a_table_without_rows_is_nothing(make_answer):
    assert component(Table("t", "T", (WH,), ()), PAGE) is None
    assert component(tables.pack(Pack()), PAGE) is None


def test_the_batterys_table_holds_each_known_number_with_unit_and_interval():
    pack = Pack(resistance_ohm=Quantity(0.21, 0.2076, 0.2124), highest_cell_v=Quantity(4.272, 4.252, 4.293))
    shown = said(component(tables.pack(pack), PAGE))
    for part in ("0.210 Ω", "95 % interval 0.208 to 0.212", "4.27 V", "4.25 to 4.29"):
        assert part in shown, part
    assert "free at the start" not in shown


def test_the_budget_tells_each_source_with_its_size_its_share_and_its_cure():
    rows = (BudgetRow("current zero", 0.019, 78.0, "stand-switched-on"), BudgetRow("acting together", None, None, ""))
    told = said(component(tables.budget(Budget("recovered", "%", 8.08, rows, 0.021, 8.04, 8.12), PAGE), PAGE))
    for words in ("current zero", "±0.019 %", "78 %", "let the bike stand", "all together"):
        assert words in told
    assert "None" not in told


def test_the_ledger_is_told_line_by_line_with_intervals(make_answer):
    answer = make_answer(ledger=LEDGER, speed_bands=BANDS)
    shown = component(tables.ledger(answer, PAGE), PAGE)
    told = said(shown)
    for words in ("+ drawn from the battery", "− air resistance", "35.0", "34.5 to 35.5", "missed"):
        assert words in told
    bands = said(component(tables.bands(answer, PAGE), PAGE))
    for words in ("0 to 10 km/h", "Braked for, s", "1.4", "0.9 to 1.9", "–"):
        assert words in bands
    app = Dash("test", add_log_handler=False)
    app.layout = shown  # a layout that Dash takes


def test_a_column_without_a_number_does_not_take_the_decimals_of_its_neighbours():
    """Where nothing that came back is known, 0.43 Wh available stays 0.43 and does not become 0."""
    columns = (
        Column("event", "event", align="left"),
        Column("a", "available", ENERGY),
        Column("r", "returned", ENERGY),
    )
    (row,) = body(Table("events", "Events", columns, (("stop", Quantity(0.43, 0.32, 0.54), None),)), METRIC)
    assert said(row) == "stop0.430 95 % interval 0.320 to 0.540–"
