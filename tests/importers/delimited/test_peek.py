"""A look at the two ends of a text log: what it shows is what reading shows, and the rest is not read."""

import io
from datetime import timedelta

import pytest

from ridelog.errors import InputError
from ridelog.importers.registry import peek
from tests.importers.looks import Counting, held_against, look_and_read, text_log
from tests.importers.tracks import START


def test_a_large_log_is_not_read_whole():
    """Of a text log of megabytes no more than the blocks at its ends are read."""
    n = 200_000
    log = text_log(n, step_s=0.25, row=lambda k, time: f"{time.isoformat(timespec='milliseconds')},{k % 9 - 2},50")
    stream = Counting(log.encode())
    (look,) = peek(stream, name="log.csv")
    assert look.n_bytes > 5_000_000
    assert stream.n_read < 300_000
    assert (look.start, look.end) == (START, START + timedelta(seconds=(n - 1) / 4))
    assert (look.role, look.clock, look.n_samples) == ("electrical", "utc", None)
    assert look.duration_s == (n - 1) / 4


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_ends_of_a_log_are_read_in_every_encoding(encoding, end):
    text = text_log(20_000, header="Zeitstempel,Akkustrom für Motor (A),Batteriespannung (V)").replace("\n", end)
    content = text.encode(encoding)
    (look,), (whole,) = look_and_read(io.BytesIO(content), "log.csv")
    held_against(look, whole)
    assert look.end == START + timedelta(seconds=19_999)


def test_an_elapsed_clock_has_no_start():
    log = text_log(20_000, header="time (s),battery current (A)", row=lambda k, _: f"{k},{k % 9 - 2}")
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.clock, look.start, look.end, look.duration_s) == ("elapsed", None, None, None)


@pytest.mark.parametrize("jump_s", [-500_000.0, 3 * 86_400.0])
def test_a_clock_that_jumps_between_the_ends_is_not_believed(jump_s):
    """Where the rows between may belong to another day, a look shows no times."""
    jump = timedelta(seconds=jump_s)
    log = text_log(
        20_000, row=lambda k, time: f"{(time + (jump if k > 9000 else timedelta())):%Y-%m-%dT%H:%M:%SZ},{k % 9},50"
    )
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.start, look.end) == (None, None)


def test_positions_that_come_late_leave_the_role_open():
    """A log whose positions are empty at both its ends may hold them between."""
    log = text_log(
        20_000,
        header="time,battery current (A),latitude,longitude",
        row=lambda k, time: f"{time:%Y-%m-%dT%H:%M:%SZ},{k % 9 - 2}," + ("46.5,-32" if 9000 < k < 9900 else ","),
    )
    (look,), (whole,) = look_and_read(io.BytesIO(log.encode()), "log.csv")
    assert look.role is None
    assert whole.role == "both"


def test_a_log_damaged_between_its_ends_may_be_seen_and_not_read():
    """A look promises nothing of the rows that it did not see, and raises nothing for the ends of a sound log."""
    log = text_log(20_000)
    lines = log.split("\n")
    lines[9000:9600] = [line.replace("Z,", "Z,hot and ") for line in lines[9000:9600]]  # more than one in a hundred
    log = "\n".join(lines)
    looks, whole = look_and_read(io.BytesIO(log.encode()), "log.csv")
    assert looks[0].end == START + timedelta(seconds=19_999)
    assert isinstance(whole, InputError)


def test_a_strange_end_is_left_to_reading():
    """A block that cannot be read alone says nothing, as long as the log may be sound."""
    log = text_log(20_000) + "\n".join(["the end, my friend"] * 2000)
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.start, look.role) == (None, None)


@pytest.mark.parametrize(("head", "is_one"), [("battery current (A),humidity", True), ("coffee,humidity", False)])
def test_a_table_without_times_is_a_recording_where_it_holds_anything_of_a_ride(head, is_one):
    """Others that lie beside the logs of a ride are named as no recording, and do not keep the ride from being read."""
    log = f"{head}\n" + "".join(f"{k % 9 - 2},50\n" for k in range(100))
    if is_one:
        (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
        assert (look.start, look.role) == (None, None)
    else:
        with pytest.raises(InputError, match="no column tells the time"):
            peek(io.BytesIO(log.encode()), name="log.csv")
