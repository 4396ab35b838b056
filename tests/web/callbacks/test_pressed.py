"""Which button was pressed, of those that come and go."""

import pytest
from dash._callback_context import context_value
from dash._utils import AttributeDict

from ridelog.web.callbacks.pressed import pressed


def triggered(*given):
    """What a callback sees that was called for buttons of these names and clicks."""
    names = {f'{{"to":"{to}","type":"coast"}}.n_clicks': n for to, n in given}
    context_value.set(AttributeDict(triggered_inputs=[{"prop_id": name, "value": n} for name, n in names.items()]))
    return pressed()


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([("find", 1)], "find"),
        ([("find", None)], None),
        ([("find", None), ("take", 2)], "take"),
        ([], None),
    ],
)
def test_a_button_that_is_new_or_gone_was_not_pressed(given, expected):
    assert triggered(*given) == expected
