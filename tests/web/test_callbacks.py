"""What happens on the page: a sample is measured, the window follows buttons and drags."""

from functools import partial

import pytest

from ridelog.errors import InputError
from ridelog.figures.look import NIGHT, PAPER
from ridelog.web.callbacks import asked_for, look_of, measure_sample, next_window
from ridelog.web.jobs.apart import measured_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.samples import list_samples
from ridelog.web.upload import Given


def test_a_sample_is_measured_with_its_bike(samples):
    """It is handed over as a visitor's files are, and keeps its own title."""
    seen = []

    def measured(files):
        seen.append([(name, path.read_text()) for name, path in files])
        return ShownRide("Your files", files=("log.csv",))

    shown = measure_sample(list_samples(samples)[0], measured)
    assert (shown.title, shown.sample) == ("Ride beta", "beta")
    assert seen == [[("log.csv", "x"), ("bike.toml", "[bike]\n")]]


def test_a_sample_that_cannot_be_read_says_so_like_a_visitors_file(samples):
    def measure(_given: Given):
        raise InputError("log.csv", "holds no samples", hint="log for longer")

    workshop = Workshop(RideStore(), partial(measured_here, measure=measure))
    shown = measure_sample(list_samples(samples)[0], workshop.measured_now)
    assert shown.answer is None
    assert shown.error_lines == ("log.csv: holds no samples", "hint: log for longer")


def test_a_sample_whose_process_does_not_begin_says_so(samples):
    def none_left(*_given):
        raise OSError("Resource temporarily unavailable")

    shown = measure_sample(list_samples(samples)[0], Workshop(RideStore(), none_left).measured_now)
    assert shown.error_lines[0] == "could not begin to measure: resource temporarily unavailable"


@pytest.mark.parametrize(
    ("move", "relayout", "window"),
    [
        ("in", None, (150.0, 250.0)),
        ("out", None, (0.0, 400.0)),
        ("left", None, (0.0, 200.0)),
        ("right", None, (200.0, 400.0)),
        ("all", None, (0.0, 1000.0)),
        ("400.0:600.0", None, (370.0, 630.0)),
        (None, {"xaxis.range[0]": 500.5, "xaxis.range[1]": 400.5}, (400.5, 500.5)),
        (None, {"xaxis.range[0]": -50, "xaxis.range[1]": 5000}, (0.0, 1000.0)),
        (None, {"xaxis.autorange": True}, (0.0, 1000.0)),
        (None, {"xaxis.range[0]": 2000, "xaxis.range[1]": 3000}, (0.0, 1000.0)),
    ],
)
def test_the_window_follows_buttons_and_drags_and_stays_inside(move, relayout, window):
    """From 100..300 s of a ride of 1000 s (by hand): halves, doubles, shifts by half, and never leaves the ride."""
    assert next_window((100.0, 300.0), (0.0, 1000.0), move, relayout) == pytest.approx(window)


@pytest.mark.parametrize(
    ("fired", "place", "wanted"),
    [
        (["drag"], "1:2", None),
        (["drag", {"type": "move", "to": "in"}], None, "in"),
        (["place"], "1:2", "1:2"),
        (["drag", "place"], "1:2", "1:2"),
        ([], "1:2", None),
    ],
)
def test_a_click_counts_even_where_a_drag_ends_at_the_same_time(fired, place, wanted):
    """A button or place is acted on when it fired, whatever else fired with it; a place chosen before is not."""
    assert asked_for(fired, place) == wanted


def test_zooming_in_ends_before_nothing_is_left():
    """However often one zooms in, a fifth of a second stays."""
    window = (0.0, 1000.0)
    for _ in range(60):
        window = next_window(window, (0.0, 1000.0), "in", None)
    assert window[1] - window[0] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("view", "look"), [(None, PAPER), ({}, PAPER), ({"dark": True}, NIGHT), ({"dark": False, "narrow": False}, PAPER)]
)
def test_figures_are_drawn_for_the_screen_that_is_there(view, look):
    assert look_of(view) == look
    assert look_of({**(view or {}), "narrow": True}).narrow
