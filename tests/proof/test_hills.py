"""The study of hills: roads by chance, over real terrain and of recorded rides, under good and rough heights.

What heights cannot tell is no fault of the rule: a hill counts if it is one, of about the same extent, whatever of the
definition is moved by two standard uncertainties of a rise over 150 m (`tests.proof.hill_roads.slack_rules`). How high
a hill is, no rule can know better than the device: where its error wanders by metres, its drift between foot and top is
taken off before heights are held to 3 m, and the stated interval must hold the height as it is.
"""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from ridelog import load_ride
from ridelog.analysis.road.hills.slopes import DEFAULT_SETTINGS
from ridelog.analysis.road.profile import gaussian
from ridelog.analysis.scene import heights_of, track_of
from tests.places import others_recording
from tests.proof.hill_roads import (
    ERRORS,
    OTHER_ERRORS,
    RULE,
    STEP_M,
    HeightError,
    drawn_road,
    level_runs,
    piece_of,
    road_hills,
    rolling_road,
    terrain_road,
)
from tests.proof.hill_study import HEADER, HillCount, count_hills

TABLE = Path(__file__).with_name("hills.md")
WORDS = """# Hills of 50 or 100 roads each

Written by `make proof` (`tests/proof/test_hills.py`). A hill is *told* if it stays one, at least 80 % the same, when
any number of the definition is moved by what the heights cannot tell (two standard uncertainties of a rise over 150 m
of road), and if it is four standard uncertainties high. *Wrong*: of no such definition's hills; *feigned*: the road
there climbs by less than 1 %; *merged*: two told hills in one, with level road of 150 m and what the heights cannot
tell between them. The device's drift between foot and top is in no single pass of a road; the interval allows for it.

The rule was made with the first five kinds of heights, on roads by chance and over real terrain with other seeds.
Rolling roads bend everywhere, so that heights tell few of their ends; roads of a recorded ride are pieces of its
profile; both, and the last two kinds of heights, are as the rule found them.

Under rough satellite heights the two aims pull apart. On 60 other roads by chance, what half of the likely roads have
was wrong 34 times in 858 and held 90 of the 92 told hills; what three in five have, 23 times in 794, and the same 90.
On 40 of them three in four have 5 wrong of 447, and 50 of the 53 told.
"""
HELD_OUT = range(70_000, 70_100)  # of no road that the rule was made with
MADE_WITH = ("by chance", "over real terrain")


def named(error: HeightError) -> str:
    """A kind of heights by its name."""
    return error.name


def too_rough(error: HeightError, found: str) -> object:
    """Heights under which more hills are wrong than asked for: not reached, and seen as soon as it is."""
    return pytest.param(error, marks=pytest.mark.xfail(reason=f"not reached: {found}", strict=True))


each_error = pytest.mark.parametrize("error", ERRORS, ids=named)


# --- the study's own truth, by hand -------------------------------------------------------------------


def road_of(*pieces: tuple[float, float]) -> np.ndarray:
    """Height by the metre of lengths [m] and grades [%]."""
    grades = np.concatenate([np.full(round(length_m), grade_pct) for length_m, grade_pct in pieces])
    return np.concatenate(([0.0], np.cumsum(grades / 100)))


@pytest.mark.parametrize(
    ("pieces", "hills"),
    [
        ([(300, 0), (400, 5), (300, 0)], [("up", 300, 700)]),
        ([(300, 0), (400, 5), (140, 0), (400, 5), (300, 0)], [("up", 300, 1240)]),
        ([(300, 0), (400, 5), (160, 0), (400, 5), (300, 0)], [("up", 300, 700), ("up", 860, 1260)]),
        ([(300, 0), (400, 5), (160, 1.2), (400, 5), (300, 0)], [("up", 300, 1260)]),
        ([(300, 0), (400, 5), (45, -4), (400, 5), (300, 0)], [("up", 300, 1145)]),
        ([(300, 0), (400, 5), (55, -4), (400, 5), (300, 0)], [("up", 300, 700), ("up", 755, 1155)]),
        ([(300, 0), (400, -5), (300, 0)], [("down", 300, 700)]),
        ([(300, 0), (2000, 1.4), (300, 8), (2000, 1.4), (300, 0)], [("up", 2300, 2600)]),
        ([(300, 0), (90, 5), (300, 0)], []),
        ([(300, 0), (40, 20), (300, 0)], []),
    ],
)
def test_the_truth_of_the_study_is_the_definition(pieces, hills):
    found = road_hills(road_of(*pieces))
    assert [(hill.direction, hill.start_m, hill.end_m) for hill in found] == hills


def test_the_study_asks_for_the_definition_of_the_analysis():
    asked = (RULE.height_m, RULE.grade_pct, RULE.reversal_m, RULE.level_pct, RULE.level_m, RULE.length_m)
    own = DEFAULT_SETTINGS
    assert asked == (
        own.min_height_m, own.min_grade_pct, own.reversal_m, own.level_grade_pct, own.level_length_m, own.min_length_m,
    )  # fmt: skip


def test_level_runs_are_where_the_road_is_steeper_than_a_grade_nowhere():
    assert level_runs(road_of((200, 5), (180, 0.5), (90, 3), (100, 0)), pct=1.0, length_m=150.0) == [(200.0, 380.0)]


def test_the_uncertainty_of_a_device_is_that_of_its_error():
    """1 m over 100 s, after 100 s: √(2 (1 - 1/e)) = 1.124 m."""
    assert HeightError("", ((1.0, 100.0),), 0.0, 0.0).u_m(100.0) == pytest.approx(1.1244, abs=1e-4)


# --- held-out roads -----------------------------------------------------------------------------------


Studies = dict[tuple[str, str], HillCount]


def roads_at_hand() -> dict[str, Callable[[np.random.Generator], np.ndarray]]:
    """How each kind of road is drawn; those of others' recordings only where these are at hand."""
    roads: dict[str, Callable[[np.random.Generator], np.ndarray]] = {"by chance": drawn_road, "rolling": rolling_road}
    try:
        terrain = others_recording("gpx/dem_real_terrain.npz")
        ride = others_recording("fit/ride-B_pauses_dups.fit")
    except pytest.skip.Exception:
        return roads
    with np.load(terrain) as held:
        terrain_m = held["elevation"].astype(float)
    profile = heights_of(track_of(load_ride([ride]).series, None)).profile
    along_m = np.arange(profile.distance_m[0], profile.distance_m[-1], STEP_M)
    ride_m = gaussian(profile.height_at(along_m), 20.0)
    roads["over real terrain"] = partial(terrain_road, terrain_m=terrain_m)
    roads["of a recorded ride"] = partial(piece_of, height_m=ride_m)
    return roads


@pytest.fixture(scope="module")
def studies() -> Studies:
    """Roads of each kind for each kind of heights, 100 of those the rule was made with, else 50; writes the table."""
    counts = {
        (road, error.name): count_hills(
            HELD_OUT if road in MADE_WITH and error in ERRORS else HELD_OUT[:50], error, road_of=road_of
        )
        for road, road_of in roads_at_hand().items()
        for error in (*ERRORS, *(OTHER_ERRORS if road in MADE_WITH else ()))
    }
    rows = [count.row(f"{name}, roads {road}") for (road, name), count in counts.items()]
    if len({road for road, _ in counts}) == 4:
        TABLE.write_text("\n".join([WORDS, HEADER, *rows, ""]), encoding="utf-8")
    return counts


def made_with(studies: Studies, error: HeightError) -> list[HillCount]:
    """The studies of heights and roads of a kind that the rule was made with."""
    return [count for (road, name), count in studies.items() if name == error.name and road in MADE_WITH]


def others(studies: Studies) -> Studies:
    """The studies of which the roads or the heights are of another kind."""
    made = {error.name for error in ERRORS}
    return {key: count for key, count in studies.items() if key[0] not in MADE_WITH or key[1] not in made}


@pytest.mark.proof
@each_error
def test_97_of_100_hills_are_found(studies, error):
    for count in made_with(studies, error):
        assert count.n_told >= 50
        assert count.n_told_found >= 0.97 * count.n_told


@pytest.mark.proof
@each_error
def test_3_of_100_hills_are_wrong_at_most(studies, error):
    for count in made_with(studies, error):
        assert count.n_wrong <= 0.03 * count.n_found


@pytest.mark.proof
def test_97_of_100_hills_are_found_on_other_roads_and_under_other_heights(studies):
    counts = others(studies).values()
    assert sum(count.n_told_found for count in counts) >= 0.97 * sum(count.n_told for count in counts)


@pytest.mark.proof
@pytest.mark.parametrize(
    "error",
    [
        *ERRORS[:4],
        too_rough(ERRORS[4], "3.6 of 100, half of them on the gentle road of a recorded ride"),
        too_rough(OTHER_ERRORS[0], "13 of 100 where the height is off by 4 m and forgets it within 90 s"),
        OTHER_ERRORS[1],
    ],
    ids=named,
)
def test_3_of_100_hills_are_wrong_at_most_on_other_roads_and_under_other_heights(studies, error):
    counts = [count for (road, name), count in others(studies).items() if name == error.name]
    assert sum(count.n_wrong for count in counts) <= 0.03 * sum(count.n_found for count in counts)


@pytest.mark.proof
def test_no_two_hills_are_merged_across_level_road(studies):
    assert sum(count.n_merged for count in studies.values()) == 0


@pytest.mark.proof
@each_error
def test_hardly_a_hill_is_feigned_by_the_heights(studies, error):
    for count in made_with(studies, error):
        assert count.n_feigned <= 0.01 * count.n_found


@pytest.mark.proof
@each_error
def test_heights_are_within_1_m_and_3_m_at_worst(studies, error):
    """Of barometers that stand still against the weather; of the others once their own drift is taken off."""
    still = error in ERRORS[:2]
    for count in made_with(studies, error):
        off_m = np.abs(count.height_off_m if still else count.height_off_beyond_m)
        assert np.median(off_m) <= 1.0
        assert off_m.max() <= 3.0


@pytest.mark.proof
@each_error
def test_the_interval_of_a_height_holds_it_93_times_in_100(studies, error):
    for count in made_with(studies, error):
        assert count.n_held >= 0.93 * count.n_found


# --- a slice that every test run can afford -----------------------------------------------------------


@pytest.fixture(scope="module")
def few() -> HillCount:
    """Eight roads by chance under a good barometer."""
    return count_hills(range(80_000, 80_008), ERRORS[0])


def test_the_slice_finds_its_hills(few):
    """Of 40 hills or more, at 99 % as in the study, two are missed once in 50 times."""
    assert few.n_told >= 40
    assert few.n_told_found >= few.n_told - 2
    assert few.n_wrong <= 2
    assert few.n_merged == few.n_feigned == 0


def test_the_slice_has_the_heights_of_its_road(few):
    off_m = np.abs(few.height_off_m)
    assert np.median(off_m) <= 0.5
    assert off_m.max() <= 3.0
