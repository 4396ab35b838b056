"""The uncertainty budget on the page."""

import json

from dash import Dash
from plotly.utils import PlotlyJSONEncoder

from ridelog.uncertain.budget import Budget, BudgetRow
from ridelog.web.budget import budget_table

BUDGET = Budget(
    "recovered",
    "%",
    8.08,
    (BudgetRow("current zero", 0.019, 78.0, "let the bike stand"), BudgetRow("acting together", None, None, "")),
    0.021,
    8.04,
    8.12,
)


def words_of(component):
    return json.dumps(component, cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_each_source_is_told_with_its_size_its_share_and_its_cure():
    told = words_of(budget_table(BUDGET))
    for words in ("current zero", "±0.019 %", "78 %", "let the bike stand", "8.04 to 8.12 %"):
        assert words in told


def test_a_source_without_a_size_shows_no_number():
    assert "None" not in words_of(budget_table(BUDGET))


def test_the_table_is_a_layout_that_dash_takes():
    app = Dash("test", add_log_handler=False)
    app.layout = budget_table(BUDGET)
