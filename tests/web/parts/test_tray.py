"""The visitor's rides: names, answers, files, why, and what can be done with them."""

import json
from dataclasses import replace

from plotly.utils import PlotlyJSONEncoder

from ridelog.tell.numbers import METRIC
from ridelog.web.jobs.workshop import Progress
from ridelog.web.parts.tray import Seen, tray_list
from ridelog.web.rides import ShownRide, shown_ride
from tests.web.tray.test_grouping import file
from tests.web.tray.test_tray import tray_of


def text_of(tray, shown=None, path=None, progress=None):
    far = {ride.token: progress for ride in tray.rides}
    parts = tray_list(tray, Seen(lambda _token: shown, far, path), METRIC)
    return json.dumps(parts, cls=PlotlyJSONEncoder, ensure_ascii=False)


def test_nothing_is_shown_before_anything_is_given():
    assert tray_list(tray_of(), Seen(lambda _token: None, {}, "/"), METRIC) == []


def test_files_of_one_ride_say_why_and_can_be_taken_out(make_answer):
    tray = tray_of(file("log", 0, electrical=True), file("track", 5, track=True))
    (ride,) = tray.regroup()
    waiting = text_of(tray)
    assert "is being measured" in waiting
    assert "the times of these files overlap" in waiting
    assert '"remove:log"' in waiting
    assert "battery · 2026-05-01 12:00 to 12:30 UTC" in waiting
    assert "waits; 3 rides before it" in text_of(tray, progress=Progress("waiting", 3))
    assert f'"stop:{ride.token}"' in waiting
    assert f'"remove-ride:{ride.token}"' in waiting
    tray.complaints = ("b.toml: is not TOML",)
    assert "Not used: b.toml: is not TOML" in text_of(tray)
    ride.state = "done"
    done = text_of(tray, shown_ride(make_answer(), title="To work"), f"/ride/{ride.token}")
    assert "To work" in done
    assert "came back" in done
    assert '"aria-current": "page"' in done


def test_a_refused_and_a_stopped_ride_say_so_and_what_was_taken_out_can_come_back():
    tray = tray_of(file("log", 0), file("other", 90))
    first, second = tray.regroup()
    first.state, second.state, tray.removed = "refused", "stopped", (file("gone", 500),)
    shown = text_of(tray, ShownRide("x", error_lines=("y",)))
    assert '"y"' in shown  # the cause
    assert f"again:{second.token}" in shown
    assert "gone.csv was taken out." in shown
    assert '"undo:"' in shown


def test_many_rides_are_moved_through_in_a_frame_and_say_their_bike_where_they_have_one():
    tray = tray_of(*(replace(file(f"{n}", 90 * n), home="all/heron") for n in range(10)))
    tray.regroup()
    shown = text_of(tray)
    assert '"own-rides many"' in shown
    assert shown.count("heron \u00b7 is being measured") == 10
    assert "Keep them in the store" not in shown
    keeps = tray_list(tray, Seen(lambda _token: None, keeps=True), METRIC)
    assert "Keep them in the store" in json.dumps(keeps, cls=PlotlyJSONEncoder)
    del tray.files["0"]
    tray.regroup()
    assert '"own-rides many"' not in text_of(tray)


def test_a_log_and_a_track_that_may_be_one_ride_can_be_put_together_by_a_press():
    tray = tray_of(file("log", 60, electrical=True, local=True), file("track", 0, drop="b", track=True))
    _, track = tray.regroup()
    told = text_of(tray)
    assert "log.csv and track.csv last as long" in told
    assert f'"join:log:{track.token}"' in told
