"""What a store teaches of a bike, on the page."""

import json

from plotly.utils import PlotlyJSONEncoder

from ridelog.fleet.history.bike.learned import Learned
from ridelog.fleet.learning import Teaching
from ridelog.tell.numbers import METRIC
from ridelog.uncertain.quantity import Quantity
from ridelog.web.parts.bike.learned import entries_of, learned_offer

WHEEL = Learned("wheel_circumference_m", Quantity(2.12345, 2.11, 2.13), 0.01, 12, None)
TAUGHT = Teaching("Gannet", 12, (WHEEL,), {"bike": {"wheel_circumference_m": 2.12345}}, (), None)


def text_of(bikes=("Gannet", "Tern"), own=None, teaching=None):
    return json.dumps(learned_offer(bikes, own, teaching, METRIC), cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_nothing_is_offered_without_a_store():
    assert learned_offer((), "Gannet", None, METRIC) == []


def test_the_bike_of_that_name_is_chosen_already():
    assert '"value": "Tern"' in text_of(own="Tern")
    assert '"value": null' in text_of(own="another")


def test_what_was_learned_is_shown_and_can_be_taken_over():
    told = text_of(teaching=TAUGHT)
    assert "circumference of the wheel" in told
    assert "Take over: Wheel circumference, loaded 2.123 m" in told
    assert entries_of(TAUGHT) == [("bike.wheel_circumference_m", 2.123)]


def test_a_store_that_teaches_nothing_says_so():
    assert "Nothing can be learned yet" in text_of(teaching=Teaching("Gannet", 2, (), {}, (), None))
    assert "None of it is for the bike file" in text_of(teaching=Teaching("Gannet", 9, (WHEEL,), {}, (), None))
