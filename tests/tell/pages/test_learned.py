"""What is said of what a store teaches."""

from ridelog.tell.pages import learned as words


def test_what_is_taken_over_is_named_with_its_unit():
    entries = [("bike.wheel_circumference_m", 2.1234), ("sensor.current_zero_limit_a", 0.11)]
    assert words.take(entries) == (
        "Take over: Wheel circumference, loaded 2.123 m, Current zero surely within ± 0.11 A"
    )
    assert words.learned("Gannet", 12) == "learned from 12 rides of Gannet"
