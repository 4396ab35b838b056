"""What a table's cells say, to those who see it and to those who hear it."""

import json

import plotly.utils

from ridelog.uncertain.quantity import Quantity
from ridelog.web.tables import _shown


def said(cell) -> str:
    """All text of a cell in reading order."""
    plain = json.loads(json.dumps(cell, cls=plotly.utils.PlotlyJSONEncoder))

    def walk(node):
        if isinstance(node, dict):
            yield from walk(node["props"].get("children"))
        elif isinstance(node, list):
            for each in node:
                yield from walk(each)
        elif node is not None:
            yield str(node)

    return "".join(walk(plain))


def test_an_interval_is_called_so_for_those_who_hear_it():
    """Without a word between them, "6.4" and "5.5 to 6.9" are heard as one number."""
    assert said(_shown(Quantity(6.4, 5.5, 6.9), 1)) == "6.4 95 % interval 5.5 to 6.9"


def test_an_interval_narrower_than_the_digits_shown_says_nothing():
    """ "0.10, 0.10 to 0.10" would tell a reader nothing."""
    assert said(_shown(Quantity(0.102, 0.099, 0.104), 2)) == "0.10"
    assert said(_shown(Quantity(0.102, None, None), 2)) == "0.10"
    assert said(_shown(None, 2)) == "–"
