"""How far an audit is: a bar on a terminal, lines elsewhere."""

import io

from ridelog.console import progress
from ridelog.console.progress import progress_on
from ridelog.fleet.audit import Progress
from tests.console.terminal import Terminal


def test_a_pipe_gets_a_line_at_the_beginning_and_one_at_the_end():
    err = io.StringIO()
    with progress_on(err) as told:
        for done in range(4):
            told(Progress(done, 3, min(done, 1)))
    assert err.getvalue().splitlines() == ["measuring 3 rides …", "3 of 3 rides done, 1 failed"]


def test_one_each_half_minute_says_how_long_the_others_will_take(monkeypatch):
    now = iter([0.0, 0.0, 31.0, 40.0])
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(now))
    err = io.StringIO()
    with progress_on(err) as told:
        for done in (0, 10, 11):
            told(Progress(done, 40, 0))
    assert err.getvalue().splitlines() == ["measuring 40 rides …", "10 of 40 rides done, about 1 min 33 s left"]


def test_nothing_is_said_where_nothing_is_to_be_measured():
    err = io.StringIO()
    with progress_on(err) as told:
        told(Progress(0, 0, 0))
    assert err.getvalue() == ""


def test_a_terminal_gets_a_bar_that_goes():
    err = Terminal()
    with progress_on(err) as told:
        told(Progress(0, 2, 0))
        told(Progress(1, 2, 1))
    shown = err.getvalue()
    assert "1/2" in shown
    assert "1 failed" in shown


def test_a_terminal_gets_no_bar_of_unknown_length_or_of_nothing():
    """Rides of a store are measured already; those of folders are counted first."""
    for far in ((), (Progress(0, 0, 0),)):
        err = Terminal()
        with progress_on(err) as told:
            for each in far:
                told(each)
        assert "measuring" not in err.getvalue()
