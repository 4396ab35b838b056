"""The mass that was assumed, as if it had been entered."""

from dataclasses import replace

from ridelog.answer.provenance import BikeValue
from ridelog.settings.bike_form import entered
from ridelog.web.tray.sharper import captured_if_entered, mass_is_assumed, with_mass
from ridelog.web.tray.tray import Text
from tests.scenarios import sample_answer

ASSUMED = BikeValue(110.0, 30.0, "assumed")


def assumed():
    answer = sample_answer("commute")
    return replace(answer, bike=replace(answer.bike, total_mass_kg=ASSUMED))


def test_an_assumed_mass_is_put_into_the_bike_file_that_there_is():
    text = with_mass(assumed(), Text("b.toml", "[road]\ncda_m2 = 0.5\n")).text
    assert entered(text) == {"road.cda_m2": 0.5, "bike.total_mass_kg": 110.0, "bike.total_mass_limit_kg": 3.0}


def test_an_entered_mass_is_left_alone_and_so_is_a_ride_without_an_answer():
    answer = sample_answer("commute")
    assert not mass_is_assumed(answer)
    assert with_mass(answer, None) is None
    assert with_mass(None, None) is None
    assert captured_if_entered(None) is None
    assert captured_if_entered(answer) == answer.braking.captured_pct
