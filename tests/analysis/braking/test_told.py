"""What a ride tells of its road: closed forms of coasting, and what came back as a bound."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.braking.available import common_terms_wh, moved_parts_wh
from ridelog.analysis.braking.events import measured_events, offered_anew
from ridelog.analysis.braking.told import ToldSettings, idle_drag_n, told_road
from ridelog.analysis.road.drag import Drag
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.settings.bike import Bike, MotorSection
from ridelog.uncertain.trials import combined
from tests.analysis.ledger.test_entries import held, sloping

POOL = 20_000


def pool_of(scene):
    """The trials that are weighed, as `measure` draws them for a bike file that says nothing."""
    return road_trials(scene.load, Bike(), n_trials=POOL, seed="road pool")


def coasting(cda_m2=0.40, crr=0.0060):
    """A minute of rolling out on the level from 8 m/s: Newton's law by fine midpoint steps, no wind, no drag.

    Mass and density as in the scene's load, so that only CdA and Crr differ from what is assumed.
    """
    time_s = np.linspace(0, 60, 601)
    scene = sloping(time_s, np.full(601, 8.0), 0.0, braking=[])
    load, step_s = scene.load, 0.01
    speed, course = 8.0, []
    for k in range(6001):
        if k % 10 == 0:
            course.append(speed)

        def slows(v):
            return (0.5 * load.density * cda_m2 * v * v + crr * load.mass_kg * 9.80665) / load.effective_mass_kg

        speed -= step_s * slows(speed - step_s / 2 * slows(speed))
    return sloping(time_s, np.array(course), 0.0, braking=[])


def told(scene, events=(), coasts=(), **settings):
    return told_road(scene, events, list(coasts), pool_of(scene), drag_n=(0.0, 0.0), settings=ToldSettings(**settings))


def test_a_ride_that_neither_coasts_nor_returns_tells_nothing():
    scene = held(0.0)
    assert told(scene, measured_events(scene)) is scene.road


def test_a_coast_leaves_only_what_lets_the_bike_roll_as_it_did():
    """Air and rolling take what the coast lost of its speed, and no more; a CdA of 0.40 and Crr of 0.0060 do."""
    scene = coasting()
    road = told(scene, coasts=[(0, 600)])
    before, after = (combined(*common_terms_wh(scene.motion, [(0, 600)], each))[0] for each in (scene.road, road))
    true_j = 0.5 * scene.load.effective_mass_kg * (8.0**2 - scene.motion.speed_mps[-1] ** 2)
    assert before.std() > 0.3 * true_j / 3600
    assert after.std() < 0.5 * before.std()
    assert abs(after.mean()) < 0.25 * before.std()
    best_wh = [
        sum(part[0] for part in moved_parts_wh(replace(scene, road=each), [(0, 600)]).values())
        for each in (scene.road, road)
    ]
    assert best_wh[0] == 0
    assert abs(before.mean() - best_wh[1]) < 0.25 * before.std()  # and the best value lies there too
    assert np.quantile(road.crr, 0.025) < 0.0060 < np.quantile(road.crr, 0.975)
    assert np.quantile(road.cda_m2, 0.025) < 0.40 < np.quantile(road.cda_m2, 0.975)


def test_what_came_back_makes_a_road_that_took_more_improbable():
    """8.07 Wh by the best values; 7.7 Wh came back, which takes 7.9: what is left is what offers that, but one in ten.

    A bound from one side says nothing of which of the possible is best: the interval moves, the best value does not.
    """
    scene = held(-4.0)
    events = measured_events(scene)
    road = told(scene, events)
    before, after = (
        combined(*common_terms_wh(scene.motion, [events[0].losing], each))[0] for each in (scene.road, road)
    )
    assert np.mean(0.97 * before < 7.68) > 0.4
    assert np.mean(0.97 * after < 7.68) < 0.2
    (event,) = offered_anew(replace(scene, road=road), events)
    assert event.available_wh.value == events[0].available_wh.value
    assert event.available_wh.quantity().low95 > events[0].available_wh.quantity().low95


def test_where_ride_and_bike_file_contradict_each_other_the_bike_file_stands():
    scene = held(-4.0)
    assert told(scene, measured_events(scene), least_effective=POOL) is scene.road


@pytest.mark.parametrize(("kind", "least_n"), [("geared-freewheel", 0.0), ("direct-drive", 0.5), (None, 0.0)])
def test_the_drag_of_an_idle_motor_is_that_of_its_kind(kind, least_n):
    low_n, high_n = idle_drag_n(held(0.0), Bike(motor=MotorSection(kind=kind)))
    assert low_n >= least_n
    assert (high_n == 0) == (kind == "geared-freewheel")
    assert idle_drag_n(held(0.0, drag=Drag(1.0, 2.0, "entered")), Bike()) == (1.0, 2.0)


def test_a_road_is_told_by_what_came_back_alone(monkeypatch):
    """What each event had available by the road as assumed is shown nowhere, once the ride has told a likelier one."""
    scene = held(-4.0)
    events = measured_events(scene)
    monkeypatch.setattr("ridelog.analysis.braking.events.available_in", None)  # would be called
    assert told(scene, events) is not scene.road
