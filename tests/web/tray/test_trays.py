"""Files add up to rides, each with its answer; what is changed is measured again; what is taken out comes back."""

import os
from functools import partial

import pytest

from ridelog.web.jobs.apart import looked_here, measured_here, refused
from ridelog.web.jobs.measuring import measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore
from ridelog.web.tray.bench import Given
from ridelog.web.tray.changes import figures_of
from ridelog.web.tray.tray import Text
from ridelog.web.tray.trays import Bounds, Hands, Trays
from tests.web.test_upload import log
from tests.web.tray.giving import give, sample, settled

HEAVY = Text("bike.toml", "[bike]\ntotal_mass_kg = 140.0\n")


def test_two_rides_given_together_are_two_rides_with_an_answer_each(trays):
    rides = give(trays, ("monday.csv", log(1)), ("tuesday.csv", log(2)))
    assert [ride.state for ride in rides] == ["done", "done"]
    starts = [trays.store.get(ride.token).answer.ride.start.day for ride in rides]
    assert starts == [1, 2]


def test_files_given_one_after_the_other_add_up_to_one_ride(trays):
    """The log first: no heights; the track then: the same ride, now with hills."""
    (alone,) = give(trays, *sample("controller.csv"))
    assert trays.store.get(alone.token).answer.ride.ascent_m is None
    (both,) = give(trays, *sample("track.gpx"))
    assert both.token == alone.token
    assert both.why == "overlap"
    assert trays.store.get(both.token).answer.ride.ascent_m is not None
    assert trays.store.version(both.token) == 2


def test_a_mass_that_was_assumed_is_tried_as_if_entered_and_an_entered_one_is_not(trays):
    """The interval with 110 kg entered to 3 kg, as measured at a terminal, lies within the one without."""
    (ride,) = give(trays, *sample("controller.csv", "track.gpx"))
    now, then = trays.store.get(ride.token).answer.braking.captured_pct, ride.sharper
    assert then.high95 - then.low95 < 0.8 * (now.high95 - now.low95)
    trays.set_bike("v", ride.token, HEAVY)
    (again,) = settled(trays)
    assert trays.store.get(again.token).answer.bike.total_mass_kg.value == 140.0
    assert again.sharper is None


def test_a_bike_is_of_all_rides_that_had_the_same_and_of_those_to_come(trays):
    first, second = give(trays, ("1.csv", log(1)), ("2.csv", log(2)))
    trays.set_bike("v", second.token, HEAVY)
    assert {ride.bike for ride in settled(trays)} == {HEAVY}
    assert [ride.bike for ride in give(trays, ("3.csv", log(3)))] == [HEAVY] * 3
    assert first.bike == HEAVY


def test_what_is_taken_out_can_be_put_back(trays):
    first, second = give(trays, ("1.csv", log(1)), ("2.csv", log(2)))
    answer = trays.store.get(first.token).answer
    trays.remove("v", first.files[0])
    assert [ride.token for ride in settled(trays)] == [second.token]
    assert trays.store.get(first.token) is None
    trays.undo("v")
    assert {ride.token for ride in settled(trays)} == {first.token, second.token}
    assert trays.store.get(first.token).answer == answer


def test_all_files_of_a_ride_are_taken_out_and_come_back_with_their_bike_and_their_address(trays):
    (ride,) = give(trays, *sample("controller.csv", "track.gpx"))
    trays.set_bike("v", ride.token, HEAVY)
    settled(trays)
    answer = trays.store.get(ride.token).answer
    trays.remove_ride("v", ride.token)
    assert settled(trays) == []
    trays.undo("v")
    (back,) = settled(trays)
    assert (back.token, back.bike, len(back.files)) == (ride.token, HEAVY, 2)
    assert trays.store.get(back.token).answer == answer
    trays.undo("v")  # nothing is left to be put back
    assert len(settled(trays)) == 1


def test_one_ride_that_waits_is_stopped_and_the_others_go_on(trays):
    first, second = give(trays, ("1.csv", log(1)), ("2.csv", log(2)))
    with trays.tray("v"):  # nothing is done meanwhile
        for ride in (first, second):
            trays.again("v", ride.token)
        trays.stop("v", first.token)
    assert [ride.state for ride in settled(trays)] == ["stopped", "done"]


def test_a_file_is_put_to_another_ride_and_back_by_the_rule(trays):
    first, second = give(trays, ("1.csv", log(1)), ("2.csv", log(2)))
    trays.put_with("v", first.files[0], second.token)
    (one,) = settled(trays)
    assert (one.why, one.token) == ("by-hand", second.token)  # which stays at its address
    trays.by_itself_again("v", one.token)
    assert len(settled(trays)) == 2


def test_a_refused_file_is_a_ride_of_its_own_that_says_why(trays):
    good, bad = give(trays, ("1.csv", log(1)), ("holiday.csv", b"\x00\x01\x02\x03" * 99))
    assert (good.state, bad.state) == ("done", "refused")
    assert trays.store.get(bad.token).error_lines[0].startswith("holiday.csv")


def test_one_visitor_cannot_change_or_take_out_what_another_gave(trays):
    (ride,) = give(trays, ("1.csv", log(1)))
    trays.remove("other", ride.files[0])
    trays.set_bike("other", ride.token, HEAVY)
    trays.put_with("other", ride.files[0], None)
    (still,) = settled(trays)
    assert still.bike is None
    assert trays.store.version(ride.token) == 1


def test_a_ride_that_the_store_had_to_give_up_is_measured_again_when_it_is_asked_for(trays):
    (ride,) = give(trays, ("1.csv", log(1)))
    trays.store.drop(ride.token)
    (again,) = settled(trays)
    assert trays.store.get(again.token).answer is not None


def test_the_tray_asked_for_longest_ago_goes_when_all_are_too_large():
    hands = Hands(partial(measured_here, measure=measure_given), looked_here)
    trays = Trays(RideStore(), Workshop(), hands, Bounds(most_bytes_all=2 * len(log())))
    for visitor in "abc":
        give(trays, ("1.csv", log()), visitor=visitor)
    assert [len(settled(trays, visitor)) for visitor in "abc"] == [0, 1, 1]
    trays.close()


def test_files_are_given_at_the_moment_when_something_of_the_same_tray_is_done(trays, monkeypatch):
    """Of the two folders that are made for them the first is made, and the other not yet."""
    made, done = os.mkdir, []
    with trays.tray("v") as tray:
        work = trays._bench.work(tray, Given((), (HEAVY,)), lambda task, _stopped: task.files, refused)
        tray.is_used = True

    def mkdir(path, *mode):
        made(path, *mode)
        if path == tray.folder and not done:
            done.append([name for name, _ in work(lambda: False)])

    monkeypatch.setattr(os, "mkdir", mkdir)
    with trays.giving("v") as folder:
        assert folder.parent == tray.folder
    assert done == [["bike.toml"]]


def test_a_closed_page_leaves_no_file(trays):
    give(trays, ("1.csv", log(1)))
    with trays.tray("v") as tray:
        folder = tray.folder
    assert folder.exists()
    trays.close()
    assert not folder.exists()


def test_a_column_that_is_corrected_is_read_so_in_all_logs_with_the_header_and_in_those_to_come(trays):
    """Turned round, what came back is what was drawn; taken back, it is as before."""
    first, second = give(trays, ("1.csv", log(1)), ("2.csv", log(2)))
    before = trays.store.get(first.token)
    said = '[[column]]\nheader = "battery current [A]"\nquantity = "battery current"\nunit = "A"\nsign = -1\n'
    trays.correct("v", before.columns[0].header, said, "turned")
    for ride in (*settled(trays), *give(trays, ("3.csv", log(3)))):
        drawn = trays.store.get(ride.token).answer.charge.drawn_ah.value
        assert drawn == pytest.approx(before.answer.charge.returned_ah.value, rel=0.02)
    trays.correct("v", before.columns[0].header, None, "back")
    settled(trays)
    assert trays.store.get(second.token).answer.charge.drawn_ah == before.answer.charge.drawn_ah
    turned, back = first.changes
    assert (turned.words, back.words) == ("turned", "back")
    assert turned.before == back.after == figures_of(before.answer)
    assert turned.after == back.before != turned.before
