"""The drag of the unpowered motor: whether there is any, and how much. Forces at the rim by hand."""

import math

import pytest

from ridelog.analysis.road.drag import Drag, assumed_drag, can_regenerate, drag_of, told_drag, wheel_radius_m
from ridelog.settings.bike import Bike, BikeSection, MotorSection, RoadSection


def bike(kind=None, drag_n=None, circumference_m=None):
    return Bike(
        bike=BikeSection(wheel_circumference_m=circumference_m),
        motor=MotorSection(kind=kind),
        road=RoadSection(motor_drag_n=drag_n),
    )


@pytest.mark.parametrize(
    ("kind", "turns"),
    [("direct-drive", True), ("geared-locked", True), ("geared-freewheel", False), ("mid-drive", False), (None, None)],
)
def test_only_a_motor_that_turns_with_the_wheel_can_return_and_drags(kind, turns):
    assert can_regenerate(kind) is turns


def test_the_wheel_is_one_of_28_inches_unless_the_bike_file_says_otherwise():
    assert wheel_radius_m(bike()) == pytest.approx(2.15 / (2 * math.pi))
    assert wheel_radius_m(bike(circumference_m=math.pi)) == pytest.approx(0.5)


def test_an_unknown_drag_is_a_torque_over_the_radius():
    """0.2 to 1 N m at 0.5 m: 0.4 to 2 N."""
    drag = assumed_drag(bike(circumference_m=math.pi))
    assert (drag.low_n, drag.high_n, drag.value_n) == pytest.approx((0.4, 2.0, 1.2))


@pytest.mark.parametrize(
    ("given", "returned_something", "expected"),
    [
        (bike("geared-freewheel", drag_n=3.0), True, (0.0, 0.0)),
        (bike("direct-drive", drag_n=2.0), False, (1.6, 2.4)),
        (bike("direct-drive", circumference_m=math.pi), False, (0.4, 2.0)),
        (bike(circumference_m=math.pi), True, (0.4, 2.0)),
        (bike(drag_n=2.0), False, (1.6, 2.4)),
        (bike(), False, None),
    ],
    ids=["freewheel", "given", "kind alone", "returned something", "given without kind", "nothing known"],
)
def test_what_is_known_of_the_motor_tells_its_drag(given, returned_something, expected):
    drag = drag_of(given, returned_something=returned_something)
    assert (None if drag is None else (drag.low_n, drag.high_n)) == (expected and pytest.approx(expected))


@pytest.mark.parametrize(
    ("given", "told"),
    [(bike("direct-drive"), False), (bike(), False), (bike(drag_n=1.0), True), (bike("mid-drive"), True)],
)
def test_the_bike_file_tells_it_as_a_force_or_by_a_freewheel(given, told):
    assert isinstance(told_drag(given), Drag) is told
