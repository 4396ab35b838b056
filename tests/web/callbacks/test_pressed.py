"""Which button was pressed, of those that come and go."""

from ridelog.web import create_app
from ridelog.web.callbacks.pressed import Press, pressed


def test_what_was_pressed_is_what_the_browser_told():
    assert pressed({"type": "coast", "to": "find", "value": 1, "n": 7}) == Press("coast", "find", 1)
    assert pressed(None) is None


def test_no_button_that_is_drawn_anew_calls_the_server():
    """The library would drop the answer that a press is still to get."""
    calls = [call for call in create_app(None).callback_map.values() if "callback" in call]
    listened = [each["id"] for call in calls for each in call["inputs"] if each["property"] == "n_clicks"]
    assert not [name for name in listened if "ALL" in name]
