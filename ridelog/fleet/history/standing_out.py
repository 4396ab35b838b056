"""Which bikes stand out, by what, and since which ride?

Two kinds of remarks. What single rides already found (cells above full, charge into a cold pack, a charge path that
opened) is gathered: the first ride concerned, how many. What only many rides together show is tested: each test of each
bike gives a p-value, and Holm's correction over all bikes and tests keeps the probability of *any* false alarm in a set
of bikes without faults at the rate of the settings. What is told is also large enough to matter.
"""

import json
from collections.abc import Mapping
from datetime import datetime

import numpy as np
import pandas as pd

from ridelog.findings import SEVERITIES, Fact, Facts, Severity
from ridelog.fleet.history.measured import column_of, in_order, numbers
from ridelog.fleet.history.peers import Below, below_others
from ridelog.fleet.history.places import same_hills
from ridelog.fleet.history.remarks import CODES, StandsOut
from ridelog.fleet.history.returned import with_nothing
from ridelog.fleet.history.routes import same_routes
from ridelog.fleet.history.settings import DEFAULTS, HistorySettings
from ridelog.fleet.history.statistics.corrected import told
from ridelog.fleet.history.suspicions import Suspicion, suspicions

FROM_FINDINGS = ("charge-cut-out", "cell-overcharged", "charged-cold")


def stands_out(
    answers: pd.DataFrame, hills: pd.DataFrame, findings: pd.DataFrame, settings: HistorySettings = DEFAULTS
) -> Mapping[str, tuple[StandsOut, ...]]:
    """What stands out, by bike.

    Parameters
    ----------
    answers : one row a ride, of all bikes
    hills : one row a pass; with ``place`` where `places.same_hills` was asked already
    findings : one row a finding
    settings : thresholds and the rate of false alarms

    Returns
    -------
    remarks : of every bike, gravest first; empty where nothing stands out
    """
    placed = _placed(hills)
    descents = _descents(placed, answers)
    bikes = {str(bike): _ready(rides, placed) for bike, rides in answers.groupby(answers["bike"].astype(str))}
    tested = {}
    for bike, rides in bikes.items():
        dated = rides[rides["ride_start"].notna()]  # the first ones: a ride without wall time has no place in the order
        enough = len(dated) >= settings.fewest_rides
        tested[bike] = suspicions(dated, descents[descents["bike"] == bike], settings) if enough else []
    for below in below_others(_before_faults(descents, bikes, tested, settings), settings):
        tested[below.bike].append(_below(below, settings))
    clear = _told(tested, settings.false_alarm_rate)
    found = _from_findings(findings)
    return {
        bike: tuple(
            sorted(
                [*found.get(bike, []), *(_remark(each, rides) for each in clear[bike]), *_too_few(rides, settings)],
                key=lambda each: (SEVERITIES.index(each.severity), list(CODES).index(each.code)),
            )
        )
        for bike, rides in bikes.items()
    }


def _placed(hills: pd.DataFrame) -> pd.DataFrame:
    """Passes with their hill."""
    if not len(hills):
        names = ("bike", "key", "place", "ride_start", "direction")
        return pd.DataFrame({name: pd.Series(dtype=object) for name in names})
    placed = hills if "place" in hills else hills.assign(place=same_hills(hills))
    return placed.assign(bike=placed["bike"].astype(str))


def _ready(rides: pd.DataFrame, placed: pd.DataFrame) -> pd.DataFrame:
    """Rides of a bike in the order ridden, with their routes, and 0 where nothing came back."""
    ordered = with_nothing(in_order(rides))
    return ordered.assign(route=same_routes(ordered, placed[placed["key"].isin(set(ordered["key"]))]))


def _descents(placed: pd.DataFrame, answers: pd.DataFrame) -> pd.DataFrame:
    """Passes downhill with the air's temperature on the ride."""
    down = placed[placed["direction"] == "down"]
    air_c = pd.Series(numbers(answers, "air_temperature_c"), index=answers["key"])
    return down.assign(air_temperature_c=down["key"].map(air_c[~air_c.index.duplicated()]))


def _too_few(rides: pd.DataFrame, settings: HistorySettings) -> list[StandsOut]:
    known = int(np.isfinite(numbers(rides, column_of(rides, "recovered_pct"))).sum())
    if known >= settings.fewest_rides:
        return []
    facts = {"n_rides": len(rides), "n_known": known, "n_needed": settings.fewest_rides}
    return [StandsOut("not-enough-rides", "note", None, Facts(facts))]


def _before_faults(
    descents: pd.DataFrame, bikes: Mapping[str, pd.DataFrame], tested: Mapping[str, list[Suspicion]],
    settings: HistorySettings,
) -> pd.DataFrame:  # fmt: skip
    """Descents of rides before a bike's own regen failed, so that it is not told of twice."""
    faulty: set[str] = set()
    for bike, made in tested.items():
        for each in made:
            failed = each.code in ("regen-lost", "regen-fading") and each.worth_telling
            if failed and each.since is not None and each.p_value <= settings.false_alarm_rate:
                faulty |= set(bikes[bike]["key"].iloc[each.since :])
    return descents[~descents["key"].isin(faulty)]


def _below(below: Below, settings: HistorySettings) -> Suspicion:
    worth = below.difference_points <= -settings.below_points
    facts = {"difference_points": below.difference_points, "n_bikes": below.others, "n_hills": below.hills}
    evidence = facts | {"n_rides": below.rides, "p_value": below.p_value}
    return Suspicion("below-others", "note", below.p_value, worth, None, None, evidence)


def _told(tested: Mapping[str, list[Suspicion]], rate: float) -> dict[str, list[Suspicion]]:
    """What is left of all suspicions when they are looked at together."""
    every = [(bike, each) for bike, made in tested.items() for each in made]
    clear: dict[str, list[Suspicion]] = {bike: [] for bike in tested}
    for (bike, each), stands in zip(every, told([each.p_value for _, each in every], rate), strict=True):
        if stands and each.worth_telling:
            clear[bike].append(each)
    return clear


def _remark(suspicion: Suspicion, rides: pd.DataFrame) -> StandsOut:
    since = None if suspicion.since is None else _moment(rides["ride_start"].iloc[suspicion.since])
    facts = dict(suspicion.evidence)
    for name, row in zip(("since_earliest", "since_latest"), suspicion.between or (), strict=False):
        moment = _moment(rides["ride_start"].iloc[row])
        facts[name] = None if moment is None else moment.isoformat()
    return StandsOut(suspicion.code, suspicion.severity, since, Facts(facts))


def _moment(value: object) -> datetime | None:
    return None if pd.isna(value) else pd.Timestamp(value).floor("us").to_pydatetime()  # type: ignore[call-overload, arg-type]


def _from_findings(findings: pd.DataFrame) -> dict[str, list[StandsOut]]:
    """What single rides found, gathered by bike: notes are left out, as they lie within the sensor's error."""
    if not len(findings):
        return {}
    grave = findings[findings["code"].isin(FROM_FINDINGS) & (findings["severity"] != "note")]
    gathered: dict[str, list[StandsOut]] = {}
    for (bike, code), rows in in_order(grave).groupby(["bike", "code"], sort=True):
        worst: Severity = "danger" if (rows["severity"] == "danger").any() else "warning"
        facts = {"n_rides": int(rows["key"].nunique()), **_extremes(rows)}
        remark = StandsOut(str(code), worst, _moment(rows["ride_start"].iloc[0]), Facts(facts))
        gathered.setdefault(str(bike), []).append(remark)
    return gathered


# fact of a finding -> the fact of all of them, and which of the values it is
_EXTREMES = {"highest_v": ("highest_v", max), "lowest_c": ("lowest_c", min), "returned_a": ("returned_a", max)}


def _extremes(rows: pd.DataFrame) -> dict[str, Fact]:
    facts = [json.loads(text) if isinstance(text, str) else dict(text or {}) for text in rows.get("facts", [])]
    extremes: dict[str, Fact] = {}
    for name, (told_as, pick) in _EXTREMES.items():
        values = [each[name] for each in facts if isinstance(each.get(name), int | float)]
        if values:
            extremes[told_as] = pick(values)
    return extremes
