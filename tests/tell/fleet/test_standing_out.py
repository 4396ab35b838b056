"""Sentences of what stands out."""

import pytest

from ridelog.fleet.history.remarks import CODES
from ridelog.tell.fleet.standing_out import IN_SHORT, TEMPLATES, remark
from ridelog.tell.numbers import IMPERIAL

CHANGE = {"n_before": 18, "n_after": 5, "gradual": False, "p_value": 1e-5}
FACTS = {
    "regen-lost": {"quantity": "captured", "usual_pct": 41.2, "now_pct": 0.0, **CHANGE},
    "regen-fading": {"basis": "hills", "before_pct": 41.2, "after_pct": 28.0, **CHANGE},
    "zero-drifting": {"before_a": 0.012, "after_a": -0.118, **CHANGE},
    "resistance-rising": {"before_ohm": 0.1312, "after_ohm": 0.19, "temperature_known": True, **CHANGE},
    "wheel-size-off": {"off_pct": -5.2, "n_before": 0, "n_after": 9, "p_value": 1e-6},
    "below-others": {"difference_points": -17.3, "n_bikes": 11, "n_hills": 1, "n_rides": 9, "p_value": 1e-5},
    "cell-overcharged": {"n_rides": 3, "highest_v": 4.2712},
    "charged-cold": {"n_rides": 1, "lowest_c": -3.5},
    "charge-cut-out": {"n_rides": 2},
    "not-enough-rides": {"n_rides": 4, "n_known": 1, "n_needed": 3},
}


@pytest.mark.parametrize("code", TEMPLATES)
def test_every_remark_is_whole_sentences(code):
    text = remark(code, FACTS[code])
    assert text[0].isupper()
    assert text.endswith(".")
    assert "  " not in text
    assert " None" not in text
    assert "nan" not in text
    assert "safe" not in text


def test_numbers_are_those_of_the_facts():
    assert remark("regen-lost", FACTS["regen-lost"]).startswith(
        "The latest 5 rides got 0 % of what braking had available back; over the 18 rides before it was 41 %."
    )
    assert "0.01 A to -0.12 A over 5 rides" in remark("zero-drifting", FACTS["zero-drifting"])
    assert "0.13 Ω to 0.19 Ω" in remark("resistance-rising", FACTS["resistance-rising"])
    assert "5.2 % slower than its wheel said, on 9 rides." in remark("wheel-size-off", FACTS["wheel-size-off"])
    assert "On 1 hill that" in remark("below-others", FACTS["below-others"])
    assert "Only 1 of 4 rides shows what was recovered:" in remark("not-enough-rides", FACTS["not-enough-rides"])
    assert "25.7 °F" in remark("charged-cold", FACTS["charged-cold"], IMPERIAL)


def test_the_largest_charge_current_or_force_is_told_where_it_dates_a_fading():
    current = {"charge_before_a": 5.21, "charge_after_a": 1.53}
    assert "into the battery went from 5.2 A to 1.5 A meanwhile. Rely on" in remark(
        "regen-fading", FACTS["regen-fading"] | current
    )
    force = {"charge_force_before_n": 44.2, "charge_force_after_n": 14.4}
    assert "reached the battery went from 44 N to 14 N meanwhile." in remark(
        "regen-fading", FACTS["regen-fading"] | force
    )
    assert "battery went" not in remark("regen-fading", FACTS["regen-fading"])


@pytest.mark.parametrize("code", ["regen-fading", "zero-drifting", "resistance-rising"])
def test_a_date_that_is_not_sure_says_between_which_rides(code):
    first, last = "2026-03-01T08:00:00+00:00", "2026-03-14T17:30:00+00:00"
    span = {"since_earliest": first, "since_latest": last}
    said = remark(code, FACTS[code] | span)
    assert "It began between the rides of 1 March 2026 and 14 March 2026 (95 %)." in said
    assert ".." not in said.replace("...", "")
    assert "It began" not in remark(code, FACTS[code] | {"since_earliest": first, "since_latest": first})


def test_brakes_come_with_every_word_of_lost_regen():
    for code in ("regen-lost", "regen-fading", "charge-cut-out"):
        assert "friction brakes" in remark(code, FACTS[code])


def test_what_is_missing_is_named():
    with pytest.raises(LookupError, match="n_after"):
        remark("regen-lost", {"quantity": "captured", "now_pct": 0.0})
    with pytest.raises(LookupError):
        remark("nothing", {})


def test_every_code_has_its_title():
    assert set(IN_SHORT) == set(CODES)
