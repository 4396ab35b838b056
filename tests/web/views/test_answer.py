"""The page of one ride: what comes first, what is said once, and one switch for the units of all of it."""

import dataclasses

from ridelog.answer.worth import Worth
from ridelog.uncertain.quantity import Quantity
from ridelog.web.callbacks.look import screen_look
from ridelog.web.rides import shown_ride
from ridelog.web.views.answer import answer_page
from tests.tell.ledgers import BANDS, LEDGER


def texts(component):
    """All texts of a component tree."""
    if isinstance(component, str):
        return [component]
    if isinstance(component, (list, tuple)):
        return [text for each in component for text in texts(each)]
    return texts(getattr(component, "children", None) or [])


def words(answer, units=None):
    return " ".join(texts(answer_page(shown_ride(answer, title="T"), screen_look({"units": units}), "token"))).replace(
        "\xa0", " "
    )


def test_one_switch_turns_the_whole_page_imperial(make_answer):
    """No metric unit of length or speed is left in what the page says of itself, and each has its counterpart."""
    worth = Worth(None, True, None, "drag-unknown", None, km_per_year=2000.0, kwh_per_year=Quantity(0.1, -0.5, 0.7))
    answer = make_answer(ledger=LEDGER, speed_bands=BANDS, worth=worth, findings=())
    metric, imperial = words(answer), words(answer, "imperial")
    for unit, other in ((" km", " mi"), ("km/h", "mph"), ("Wh/km", "Wh/mi"), ("Height, m ", "Height, ft ")):
        assert unit in metric, unit
        assert unit not in imperial, unit
        assert other in imperial, other
    assert "in 1\u202f243 mi ridden like this" in imperial


def test_the_page_tells_what_regeneration_was_worth(make_answer):
    worth = Worth(None, True, None, "return-unknown", None, missing=("pack.capacity_ah",))
    told = words(make_answer(worth=worth))
    assert "Is it worth it?" in told
    assert "We cannot say whether regeneration gained or lost energy on this ride: we do not know" in told
    assert "pack.capacity_ah for the range" in told
    assert "Is it worth it?" not in words(make_answer(worth=None))


def test_a_part_of_which_nothing_is_known_is_not_there(make_answer):
    told = words(make_answer(worth=None, ledger=None, hills=(), hill_pairs=()))
    for heading in ("Where the energy went", "How sure the share is", "How the battery was treated"):
        assert heading not in told
    assert "No hill on this ride climbs or falls by 5 m or more" in told
    assert "What each hill gave back" not in told


def test_available_is_the_one_word_for_what_braking_could_give(make_answer):
    told = words(dataclasses.replace(make_answer(), ledger=LEDGER, speed_bands=BANDS)).lower()
    assert "available" in told
    assert "offer" not in told
