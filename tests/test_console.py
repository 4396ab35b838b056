"""The summary as a tired rider reads it: sentences for what is known, words for what is not, no minus zero."""

import io
import tomllib

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from tests.places import SAMPLES


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


def measured_sample(slug, bike):
    about = tomllib.loads((SAMPLES / slug / "about.toml").read_text(encoding="utf-8"))
    files = [str(SAMPLES / slug / name) for name in about["files"]]
    out, err = io.StringIO(), io.StringIO()
    assert main(["measure", *files, "--bike", str(bike)], out, err) in (Exit.OK, Exit.DANGER)
    assert err.getvalue() == ""
    return " ".join(out.getvalue().split())


def test_a_ride_ends_with_what_it_was_worth_and_what_never_replaces_a_brake():
    told = measured_sample("commute", SAMPLES / "commute" / "bike.toml")
    block = told[told.index("Is it worth it?") :]
    for words in (
        "Wh/km at the battery",
        "N m at the wheel",
        "km on a full pack",
        "EUR",
        "full charges",
        "friction brakes",
    ):
        assert words in block


def test_a_motor_behind_a_freewheel_takes_the_share_out_of_the_headline(tmp_path):
    """The commute's own log, with a motor in the bike file that cannot have done it."""
    bike = tmp_path / "bike.toml"
    own = (SAMPLES / "commute" / "bike.toml").read_text(encoding="utf-8")
    bike.write_text(own.replace('"direct-drive"', '"mid-drive"'), encoding="utf-8")
    told = measured_sample("commute", bike)
    assert "went into the battery, which this bike's motor cannot have returned by braking." in told[:200]
    assert "gave 39 % of it" not in told
    assert "[return-without-regen]" in told
    assert "This bike cannot regenerate" in told
    assert "it needs a motor that turns with the wheel" in told


def test_a_ride_that_ends_lower_warns_of_what_it_says_of_others():
    told = measured_sample("winter", SAMPLES / "winter" / "bike.toml")
    assert "[recovered-unusually-high]" in told
    assert "this ride ends 83 m lower than it begins: a round trip gives less per km" in told


def test_a_ride_without_height_says_what_its_offer_takes(tmp_path):
    """A mid-drive's log has nothing to return; without height nobody can say what the road would have given."""
    log, bike = tmp_path / "ride.csv", tmp_path / "bike.toml"
    header = "time [s],battery current [A],battery voltage [V],speed [km/h]"
    log.write_text("\n".join([header, *(f"{k},5,50,18" for k in range(121))]) + "\n", encoding="utf-8")
    bike.write_text('[motor]\nkind = "mid-drive"\n', encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    assert main(["measure", str(log), "--bike", str(bike)], out, err) == Exit.OK
    assert line(out.getvalue(), "offered").endswith("that takes speed and height")


def test_a_log_that_cannot_show_a_return_is_told_what_braking_offered():
    told = measured_sample("no-return", SAMPLES / "no-return" / "bike.toml")
    assert "Whether regeneration gained or lost energy is not known: what came back is not known." in told
    assert "would give" in told


def test_a_danger_comes_before_any_praise():
    """The winter ride's charge path opened: exit status 1, its share told after that, and the danger only once.

    So is that nobody knows whether charge may enter its pack through these terminals.
    """
    folder = SAMPLES / "winter"
    out, err = io.StringIO(), io.StringIO()
    files = [str(folder / name) for name in ("battery.csv", "track.gpx")]
    assert main(["measure", *files, "--bike", str(folder / "bike.toml")], out, err) == Exit.DANGER
    text = out.getvalue()
    assert text.startswith("danger: ")
    assert text.count("charge-cut-out") == 1
    assert text.index("charge-cut-out") < text.index("[charge-path]") < text.index("came back")
    assert text.count("[charge-path]") == 1
    assert "resists with 0.210" in line(text, "pack")
