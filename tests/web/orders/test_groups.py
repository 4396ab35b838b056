"""Chosen groups as a comparison takes them."""

from datetime import UTC, datetime
from pathlib import Path

from ridelog.compare.places import Query, group_place
from ridelog.web.orders.groups import ChosenGroup, StagedRide, command_again, limits_for, n_rides, rides_of
from tests.web.visits import log, write_campaign


def test_rides_of_one_bike_file_share_their_logger_whatever_it_is_called(tmp_path):
    rides = []
    for day in (1, 2, 3):
        path = tmp_path / str(day) / "log.csv"
        path.parent.mkdir()
        path.write_bytes(log(day))
        bike = path.with_name("said.toml")
        bike.write_text("[bike]\ntotal_mass_kg = 100.0\n" if day < 3 else "[bike]\ntotal_mass_kg = 90.0\n")
        rides.append(StagedRide(f"ride {day}", (path,), bike))
    heard = []
    found = rides_of([ChosenGroup("a", own=tuple(rides[:1])), ChosenGroup("b", own=tuple(rides[1:]))], heard.append)
    assert [(ride.group, ride.name, ride.bike) for ride in found.rides] == [
        ("a", "ride 1", "bike"), ("b", "ride 2", "bike"), ("b", "ride 3", "bike 2"),
    ]  # fmt: skip
    assert found.rides[0].logger == found.rides[1].logger != found.rides[2].logger
    assert heard[0] == b'["reading", 0, 0]'
    assert heard[-2:] == [b'["measuring", 3, 3]', b'["comparing", 0, 0]']


def test_folders_and_stores_have_a_command_and_single_rides_none(tmp_path):
    folder = write_campaign(tmp_path / "campaign", n_rides=1)
    since = datetime(2026, 3, 1, tzinfo=UTC)
    groups = [
        ChosenGroup("weak", (folder / "weak",)),
        ChosenGroup("strong", queries=(Query("rides", ("A b",), since=since),)),
    ]
    assert command_again(groups, ["--paper", "letter"], "c.pdf") == (
        "ridelog report --group weak=weak --group 'strong=rides?bike=A+b&from=2026-03-01T00%3A00%3A00Z' "
        "--paper letter --output c.pdf"
    )
    assert command_again([*groups, ChosenGroup("own", own=(StagedRide("x", (Path("y"),)),))], [], "c.pdf") is None
    assert n_rides(groups) == 20
    assert limits_for(20).longest_s > limits_for(1).longest_s


def test_what_is_asked_of_a_store_is_read_back_from_the_command():
    query = Query(
        "memory://rides", ("A b",), ("on",), datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 4, 1, tzinfo=UTC)
    )
    assert group_place(f"x={query.text}").place == query
    assert group_place(f"x={Query('memory://rides').text}").place == Query("memory://rides")
