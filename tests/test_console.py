"""The summary as a tired rider reads it: sentences for what is known, words for what is not, no minus zero."""

import io

import pytest

from ridelog.cli import main
from ridelog.errors import Exit


def summary(tmp_path, header, rows):
    log = tmp_path / "ride.csv"
    log.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    assert (main(["measure", str(log)], out, err), err.getvalue()) == (Exit.OK, "")
    return out.getvalue()


def line(text, name):
    return next(" ".join(row.split()) for row in text.splitlines() if row.startswith(f"{name} "))


def test_what_is_not_known_is_told_once_and_in_order(tmp_path):
    """10 A at 50 V for 36 s are 0.1 Ah and 5 Wh; a log without a negative sample tells no return (by hand)."""
    text = summary(tmp_path, "time [s],battery current [A],battery voltage [V]", [f"{k},10,50" for k in range(37)])
    assert line(text, "energy").startswith("energy 5.00 ")
    assert line(text, "energy").endswith("drawn; what returned is not known")
    assert line(text, "charge").startswith("charge 0.100 ")
    assert line(text, "road") == "road distance not known, height not known"
    assert line(text, "braking") == "braking 0 events"


def test_a_ride_that_gives_more_than_it_draws_gains_no_distance(tmp_path):
    """With nothing consumed, no distance can be bought back by what returned: the line leaves it out."""
    rows = [f"{k},{1 if k < 60 else -2},50,18" for k in range(121)]
    text = summary(tmp_path, "time [s],battery current [A],battery voltage [V],speed [km/h]", rows)
    assert line(text, "use").endswith("Wh/km net")
    assert "not known gained" not in text
    assert line(text, "braking") == "braking 1 event; what was available is not known"


@pytest.mark.parametrize(
    ("first_m", "step_m", "told"), [(0, 0.25, "100 m up, 0 m down"), (100, -0.25, "0 m up, 100 m down")]
)
def test_a_ramp_goes_one_way_only(tmp_path, first_m, step_m, told):
    """400 s at 5 m/s on a 5 % ramp are 100 m of height, all of it one way (by hand)."""
    rows = [f"{k},{2 if k % 2 else -2},50,18,{first_m + step_m * k}" for k in range(401)]
    text = summary(tmp_path, "time [s],battery current [A],battery voltage [V],speed [km/h],altitude [m]", rows)
    assert line(text, "road") == f"road 2.00 km, {told}"
