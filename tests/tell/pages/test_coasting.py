"""What is said of the drag that coasting shows."""

from ridelog.tell.pages import coasting as words

VALUES = {"cda_m2": 0.5591, "cda_limit_m2": 0.0712, "crr": 0.00774, "crr_limit": 0.0011}


def test_what_is_taken_over_is_named_with_its_limits():
    assert words.take(VALUES) == "Take over Drag area CdA 0.559 ± 0.071, Rolling resistance Crr 0.00774 ± 0.0011"
    assert words.chosen({"cda_m2": 0.5591}, "To work") == "Drag area CdA 0.559, by the coasting of To work"
