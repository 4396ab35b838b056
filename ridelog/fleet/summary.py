"""What all rides of some bikes tell together, put into an audit's record."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime

import numpy as np
import pandas as pd

from ridelog.findings import SEVERITIES
from ridelog.fleet.history.directions import by_direction
from ridelog.fleet.history.figure import Figure, Part, own_figure
from ridelog.fleet.history.places import HillFigure, hill_figures, same_hills
from ridelog.fleet.history.remarks import StandsOut
from ridelog.fleet.history.returned import with_nothing
from ridelog.fleet.history.standing_out import stands_out
from ridelog.fleet.record import Audit, BikeAudit, HillAudit, HillOfBike, RidePoint
from ridelog.fleet.store.store import Store
from ridelog.fleet.task import Failure
from ridelog.uncertain.quantity import Quantity


def audit_of(store: Store, keys: Collection[str], counts: tuple[int, int], failed: Sequence[Failure]) -> Audit:
    """What rides in a store tell together.

    Parameters
    ----------
    store : that holds them
    keys : of the rides that are looked at
    counts : how many of them were measured now, and how many before
    failed : what could not be measured

    Returns
    -------
    By bike, those that stand out first, and by hill, those that were passed most often first.

    Raises
    ------
    StoreError : the store cannot be read
    """
    answers = _of(store.answers(), set(keys))
    there = set(answers["key"])  # others may be writing: what comes with a later look is for the next audit
    hills, findings = (_of(frame, there) for frame in (store.hills(), store.findings()))
    placed = hills.assign(place=same_hills(hills))
    remarks = stands_out(answers, placed, findings)
    bikes = sorted(
        (
            _bike(str(bike), rides, placed[placed["key"].isin(set(rides["key"]))], remarks.get(str(bike), ()))
            for bike, rides in answers.groupby("bike", sort=True)
        ),
        key=lambda bike: len(SEVERITIES) if bike.gravest is None else SEVERITIES.index(bike.gravest),
    )
    told = (_hill(figure) for figure in hill_figures(placed, placed["place"]))
    by_passes = sorted(told, key=lambda hill: (-hill.passes, hill.id))
    return Audit(*counts, tuple(failed), tuple(bikes), tuple(by_passes))


def _hill(figure: HillFigure) -> HillAudit:
    """A hill by its number."""
    return HillAudit(
        figure.id,
        figure.name,
        figure.direction,
        figure.passes,
        len(figure.bikes),
        figure.recovered_pct,
        figure.captured_pct,
        tuple(HillOfBike(one.bike, one.passes, one.captured_pct) for one in figure.bikes),
    )


def _of(frame: pd.DataFrame, keys: Collection[str]) -> pd.DataFrame:
    return frame[frame["key"].isin(keys)].reset_index(drop=True)


def _bike(bike: str, rides: pd.DataFrame, passes: pd.DataFrame, remarks: tuple[StandsOut, ...]) -> BikeAudit:
    recovered, captured, used = (
        own_figure(rides, quantity) for quantity in ("recovered_pct", "captured_pct", "net_wh_per_km")
    )
    starts = rides["ride_start"].dropna()
    return BikeAudit(
        bike=bike,
        rides=len(rides),
        first=None if starts.empty else _moment(starts.min()),
        last=None if starts.empty else _moment(starts.max()),
        distance_m=_sum(rides, "ride_distance_m"),
        drawn_wh=_sum(rides, "energy_drawn_wh"),
        returned_wh=_sum(rides, "energy_returned_wh"),
        recovered_pct=_mean(recovered),
        captured_pct=_mean(captured),
        net_wh_per_km=_mean(used),
        ride_to_ride_sd=None if recovered is None else recovered.ride_to_ride_sd,
        by_month=_parts(() if recovered is None else recovered.months),
        by_air_c=_parts(() if recovered is None else recovered.air),
        stands_out=remarks,
        history=tuple(_points(with_nothing(rides))),
        by_direction=by_direction(rides, passes),
    )


def _points(rides: pd.DataFrame) -> Iterator[RidePoint]:
    """The rides one by one."""
    recovered, captured = (list(_quantities(rides, name)) for name in ("energy_recovered_pct", "braking_captured_pct"))
    named = zip(rides["key"], rides["name"], rides["ride_start"], recovered, captured, strict=True)
    for key, name, start, *shares in named:
        yield RidePoint(str(key), str(name), None if pd.isna(start) else _moment(start), *shares)


def _quantities(rides: pd.DataFrame, column: str) -> Iterator[Quantity | None]:
    """A column with its interval; ``None`` where it is not known."""
    columns = (rides[f"{column}{end}"].astype(float) for end in ("", "_low95", "_high95"))
    for value, *bounds in zip(*columns, strict=True):
        yield None if np.isnan(value) else Quantity(value, *(None if np.isnan(bound) else bound for bound in bounds))


def _parts(parts: Sequence[Part]) -> Mapping[str, Quantity | None]:
    return {part.name: part.mean for part in parts}


def _mean(figure: Figure | None) -> Quantity | None:
    return None if figure is None else figure.mean


def _sum(rides: pd.DataFrame, column: str) -> float:
    return float(np.nansum(rides[column].to_numpy(dtype=float)))


def _moment(time: pd.Timestamp) -> datetime:
    return time.floor("us").to_pydatetime()
