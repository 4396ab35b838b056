"""How many rides would settle a difference of the recovered share, in which order, and what to log on them?

Rides of one route differ by themselves; the spread so far says how many pairs tell a difference 80 times of 100, by
Student's t. A spread of few rides is uncertain itself: beside it stands its upper 80 % limit (Browne 1995, Stat. Med.
14:1933), and the number of rides that this would take. From fewer than three rides no spread is known, and a usual one
is assumed.
"""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from ridelog import __version__
from ridelog.answer.plain import plain, record
from ridelog.answer.ride import Answer
from ridelog.arrays import Floats
from ridelog.compare.groups import Compared
from ridelog.compare.observations import observations_of
from ridelog.compare.statistics.power import Trial, power, rides_needed
from ridelog.lazy import dataclass
from ridelog.tell.refusals import compare as refusals
from ridelog.uncertain.shared import OWN

SCHEMA = 1
FALSE_ALARMS = 0.05 / 4  # a comparison looks at four differences, and Holm may hold one against a fourth of 5 %
POWER = 0.8
LEAST_DIFFERENCE, LARGEST_DIFFERENCE = 0.01, 100.0  # that a plan is made for [percentage points]
FEWEST_RIDES = 3  # below, the spread of rides cannot be told from chance
USUAL_SPREAD = 0.1  # of the recovered share, where no spread is known: a judgement, nothing is published
USUAL_SHARE_PCT = 8.0  # recovered, where no ride was ridden yet: a judgement
LEAST_SPREAD = 0.2  # and so many points at least, as wind and lights do that much [percentage points]
SPREAD_CONFIDENCE = 0.8
ZERO_SHARE = 0.1  # of the difference: what the current's zero may make, as a standard uncertainty
SAMPLING_SHARE = 0.2  # of the spread of rides: what sampling may make; it then adds 2 % to their variance
LONGEST_STAND_S, LEAST_STAND_S = 600.0, 30.0
CURVE = (2, 3, 4, 6, 8, 10, 12, 16, 20, 30, 40)  # pairs


@dataclass(frozen=True)
class Chance:
    """How often a difference would be told by so many pairs; ``if_wider`` : by the upper limit of the spread."""

    pairs: int
    power: float
    if_wider: float | None


@dataclass(frozen=True)
class Plan:
    """A campaign that settles a difference.

    Attributes
    ----------
    difference : to be told [percentage points]
    rides : of the route so far that tell the recovered share
    recovered_pct : mean of them; ``None`` where there is none yet [%]
    spread : standard deviation from ride to ride, measurement included [percentage points]
    spread_high : its upper 80 % limit; ``None`` where the spread is assumed
    spread_assumed : it is a usual one
    own_u : of it, what each ride's own measurement makes
    pairs : rides of each set-up that tell the difference 80 times of 100, a whole number of A-B-B-A blocks; ``None``
        where it takes more than 1000
    pairs_high : the same by ``spread_high``
    curve : power by the number of pairs
    stand_s : how long to stand still, switched on, at the start [s]; ``None`` where no rest was logged
    stand_s_so_far : how long the ride so far did [s]
    standby_known : the bike file says what the bike draws at rest; without, standing does not tell the zero
    log_every_s : the longest step between samples that hides little enough [s]
    logged_every_s : the step so far [s]
    drag_assumed : nothing is entered of drag area and rolling resistance
    """

    difference: float
    rides: int
    recovered_pct: float | None
    spread: float
    spread_high: float | None
    spread_assumed: bool
    own_u: float
    pairs: int | None
    pairs_high: int | None
    curve: tuple[Chance, ...]
    stand_s: float | None
    stand_s_so_far: float | None
    standby_known: bool
    log_every_s: float | None
    logged_every_s: float | None
    drag_assumed: bool
    ridelog: str = __version__

    def to_dict(self) -> dict[str, Any]:
        """The plan as plain data, ready for JSON."""
        told: dict[str, Any] = plain(self)
        return {"schema": SCHEMA, "ridelog": told.pop("ridelog"), **told}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Plan":
        """The plan that `Plan.to_dict` gave.

        Raises
        ------
        AnswerError : no such data
        """
        return record(cls, data)


@dataclass(frozen=True, eq=False)
class SoFar:
    """Rides so far.

    ``values`` : recovered share of each, set-ups taken out, shape (n,) [%] · ``own_u`` : standard uncertainty of each
    ride's own measurement · ``latest`` : the answer of the last, ``None`` before any · ``groups`` : set-ups that were
    taken out
    """

    values: Floats
    own_u: Floats
    latest: Answer | None
    groups: int = 1

    @classmethod
    def nothing(cls) -> "SoFar":
        """No ride yet."""
        return cls(np.array([]), np.array([]), None)

    @classmethod
    def of_ride(cls, answer: Answer) -> "SoFar":
        """One ride.

        Raises
        ------
        UsageError : it does not tell what was recovered
        """
        share = answer.energy.recovered_pct or answer.charge.recovered_pct
        if share is None:
            raise refusals.nothing_recovered()
        own_u = answer.shared_errors.ride.get("recovered_pct", {}).get(OWN, 0.0)
        return cls(np.array([share.value]), np.array([own_u]), answer)

    @classmethod
    def of_rides(cls, rides: Compared) -> "SoFar":
        """Rides of the route that was ridden most; each set-up a group.

        Raises
        ------
        UsageError : no ride tells what was recovered
        """
        told = next(each for each in observations_of(rides) if each.quantity == "recovered_pct")
        if not len(told.value):
            raise refusals.nothing_recovered()
        routes, counts = np.unique(told.route, return_counts=True)
        rows = np.flatnonzero(told.route == routes[np.argmax(counts)])
        values, group = told.value[rows], told.group[rows]
        means = {name: float(values[group == name].mean()) for name in set(group.tolist())}
        apart = values - np.array([means[name] for name in group]) + values.mean()
        answers = {ride.key: ride.answer for ride in rides.rides}
        latest = str(told.ride[rows][np.argmax(np.nan_to_num(told.start_s[rows], nan=-np.inf))])
        return cls(apart, told.own_u[rows], answers[latest], len(means))


def points(text: str) -> float:
    """A difference as somebody writes it, with a point or a comma [percentage points].

    Raises
    ------
    ValueError : it is no number, or none from 0.01 to 100
    """
    value = math.nan if "_" in text else float(text.replace(",", "."))
    if not LEAST_DIFFERENCE <= value <= LARGEST_DIFFERENCE:
        raise ValueError(text)
    return value


def plan_of(so_far: SoFar, difference: float) -> Plan:
    """The plan of a campaign.

    Parameters
    ----------
    so_far : rides of the route
    difference : to be told, above 0 [percentage points]

    Returns
    -------
    plan : for as many rides as it takes
    """
    values, latest = so_far.values, so_far.latest
    freedom = len(values) - so_far.groups
    known = freedom >= FEWEST_RIDES - 1
    mean = float(values.mean()) if len(values) else None
    own = float(np.sqrt(np.mean(np.nan_to_num(so_far.own_u) ** 2))) if len(values) else 0.0
    usual = max(USUAL_SPREAD * (USUAL_SHARE_PCT if mean is None else mean), LEAST_SPREAD, own)
    spread = max(float(np.sqrt(np.sum((values - values.mean()) ** 2) / freedom)), own) if known else usual
    high = spread * _widening(freedom) if known else None
    trial, wider = _by_pairs(spread), None if high is None else _by_pairs(high)
    curve = tuple(
        Chance(n, power(trial, difference, n), None if wider is None else power(wider, difference, n)) for n in CURVE
    )
    stand_s, so_far_s, standby_known = (None, None, False) if latest is None else _standing(latest, difference)
    log_every_s, logged_every_s = (None, None) if latest is None else _logging(latest, spread)
    return Plan(
        difference, len(values), mean, spread, high, not known, own, _blocks(trial, difference),
        None if wider is None else _blocks(wider, difference), curve, stand_s, so_far_s, standby_known, log_every_s,
        logged_every_s, latest is None or _drag_assumed(latest),
    )  # fmt: skip


def _by_pairs(spread: float) -> Trial:
    """Neighbours in time are taken to differ as any two rides do."""
    return Trial(float(np.sqrt(2)) * spread, "pairs", FALSE_ALARMS)


def _widening(freedom: int) -> float:
    from scipy import stats

    return float(np.sqrt(freedom / stats.chi2.ppf(1 - SPREAD_CONFIDENCE, freedom)))


def _blocks(trial: Trial, difference: float) -> int | None:
    """Pairs in whole blocks of two, and no fewer than a verdict by pairs takes."""
    needed = rides_needed(trial, difference, wanted=POWER)
    return None if needed is None else 2 * ((max(needed, FEWEST_RIDES) + 1) // 2)


def points_per_ampere(answer: Answer) -> float | None:
    """By how much the recovered share moves for each ampere that the current's zero is off.

    A zero of d A adds d t to what comes back in the time t of braking, and takes as much off what is drawn in the rest.

    Parameters
    ----------
    answer : of a ride

    Returns
    -------
    percentage points for each A; ``None`` where nothing was drawn
    """
    drawn, share = answer.charge.drawn_ah, answer.charge.recovered_pct
    if drawn is None or share is None or not drawn.value > 0:
        return None
    braked_h = sum(event.end_s - event.start_s for event in answer.braking.events) / 3600
    moving_h = (answer.ride.moving_s or answer.ride.duration_s) / 3600
    return float(100 / drawn.value * (braked_h + share.value / 100 * max(moving_h - braked_h, 0.0)))


def _standing(answer: Answer, difference: float) -> tuple[float | None, float | None, bool]:
    """How long to stand so that the noise of the zero makes little of the difference, and how long it was so far."""
    used = answer.bike.sensor.get("standby_draw_a")
    known = used is not None and used.source != "assumed"
    facts = next((each.facts for each in answer.findings if each.code == "current-at-rest"), None)
    per_a = points_per_ampere(answer)
    if facts is None or per_a is None:
        return None, None, known
    noise_a, rest_s, step_s = (facts.get("noise_a"), facts.get("rest_s"), _step_s(answer))
    if not isinstance(noise_a, float | int) or not isinstance(rest_s, float | int) or step_s is None:
        return None, None, known
    samples = (per_a * noise_a / (ZERO_SHARE * difference)) ** 2
    return min(max(samples * step_s, LEAST_STAND_S), LONGEST_STAND_S), float(rest_s), known


def _step_s(answer: Answer) -> float | None:
    steps = [source.step_s for source in answer.sources if source.role in ("electrical", "both")]
    return steps[0] if steps else None


def _logging(answer: Answer, spread: float) -> tuple[float | None, float | None]:
    """The step at which sampling makes little of the spread: its standard uncertainty goes with the step to 1.5."""
    step_s = _step_s(answer)
    sampling = [row.u for budget in answer.budget for row in budget.rows if "sampling" in row.name and row.u]
    if step_s is None or not sampling:
        return None, step_s
    return float(step_s * (SAMPLING_SHARE * spread / float(sampling[0] or 1.0)) ** (2 / 3)), step_s


def _drag_assumed(answer: Answer) -> bool:
    used = [answer.bike.road.get(name) for name in ("cda_m2", "crr")]
    return any(each is None or each.source == "assumed" for each in used)
