"""What many rides need of a ride beside its answer: what its sensor and its wheel were like, and how cold it was."""

from collections.abc import Mapping
from statistics import NormalDist

import numpy as np
import pandas as pd

from ridelog import coasted
from ridelog.answer.ride import Answer
from ridelog.arrays import Floats
from ridelog.recording import Ride
from ridelog.uncertain.coverage import P_COVERAGE
from ridelog.uncertain.quantity import Quantity

WINDOW_S = 10.0  # long enough that positions are apart by more than their noise, short enough that most are straight
LEAST_MPS = 3.0
FEWEST_WINDOWS = 20
LARGEST = 5  # samples; the middle one is taken, so that one or two odd speeds do not make the largest force
COVERAGE_FACTOR = NormalDist().inv_cdf((1 + P_COVERAGE) / 2)


def beside(answer: Answer) -> Mapping[str, float | Quantity | None]:
    """What is kept of a ride beside its answer.

    Parameters
    ----------
    answer : with its series

    Returns
    -------
    By the name of its column in the table of answers:
    ``current_zero_a`` : what the current reads at rest, less the standby draw where that was entered [A];
    ``wheel_scale_ratio`` : way by the positions over way by the log's own speed [1];
    ``highest_charge_force_n`` : largest power into the battery over the speed at it [N];
    ``air_temperature_c`` : of the air as entered, only where nothing felt it [°C].
    """
    told: dict[str, float | Quantity | None] = {
        "current_zero_a": _zero(answer),
        "wheel_scale_ratio": wheel_scale(answer.series) if _rolled_by_its_own_log(answer) else None,
        "highest_charge_force_n": charge_force_n(answer.series),
    }
    entered = answer.bike.road.get("air_temperature_c")
    if "air_temperature_c" not in answer.series and entered is not None and entered.source == "entered":
        told["air_temperature_c"] = _number(entered.value)
    return told


def coasting_beside(ride: Ride) -> Mapping[str, float]:
    """What is kept of a ride's coasting.

    Parameters
    ----------
    ride : as it was measured

    Returns
    -------
    By the name of its column in the table of answers; empty where it tells nothing of the drag.
    """
    told = coasted(ride)
    if told is None:
        return {}
    (drag_u, cda_u), (drag_alike, cda_alike) = (np.sqrt(np.diag(each)) for each in (told.covariance, told.alike))
    return {
        "coasting_s": told.lasted_s,
        "coasting_drag_n": told.drag_n,
        "coasting_drag_u_n": float(drag_u),
        "coasting_cda_m2": told.cda_m2,
        "coasting_cda_u_m2": float(cda_u),
        "coasting_correlation_ratio": float(told.covariance[0, 1] / (drag_u * cda_u)),
        "coasting_drag_alike_n": float(drag_alike),
        "coasting_cda_alike_m2": float(cda_alike),
        "coasting_alike_correlation_ratio": float(told.alike[0, 1] / max(drag_alike * cda_alike, 1e-12)),
    }


def _zero(answer: Answer) -> Quantity | None:
    """The reading at rest, less the standby draw; its interval is that of a mean of noisy and rounded readings."""
    facts = next((finding.facts for finding in answer.findings if finding.code == "current-at-rest"), {})
    reading_a, standby_a = facts.get("reading_a"), facts.get("standby_draw_a")
    if not isinstance(reading_a, float):
        return None
    value_a = reading_a - standby_a if isinstance(standby_a, float) else reading_a
    noise_a, step_a = (_number(facts.get(name)) for name in ("noise_a", "resolution_a"))
    n = max(_number(facts.get("rest_s")) / max(_electrical_step_s(answer), 1e-3), 1.0)
    rounded_a = step_a / 2 if noise_a < step_a / 2 else 0.0  # steps that no noise blurs
    half_a = COVERAGE_FACTOR * float(np.hypot(noise_a / np.sqrt(n), rounded_a / np.sqrt(3)))
    return Quantity(value_a, value_a - half_a, value_a + half_a)


def _number(fact: object) -> float:
    return float(fact) if isinstance(fact, (int, float)) else 0.0


def _electrical_step_s(answer: Answer) -> float:
    return next((one.step_s for one in answer.sources if one.role in ("electrical", "both")), 1.0)


def _rolled_by_its_own_log(answer: Answer) -> bool:
    """Whether the speed is another than that of the positions: beside a track, or in one log with them."""
    if "track_speed_mps" in answer.series:
        return True
    facts = next((finding.facts for finding in answer.findings if finding.code == "motion-sources"), {})
    one_log = all(source.role == "both" for source in answer.sources)
    return one_log and facts.get("speed_source") in ("wheel", "device")


def wheel_scale(series: pd.DataFrame) -> Quantity | None:
    """Way by the positions over way by the log's own speed, the median of many short windows.

    Bends shorten the way between positions in a few windows only, which a median does not heed. The interval holds what
    chance does to the median; what positions do alike on every ride, it does not.

    Parameters
    ----------
    series : of a ride whose speed is not that of its positions, see `ridelog.analysis.measure.measure`

    Returns
    -------
    Ratio [1]; ``None`` without positions, without speed, or from too short a way.
    """
    if not {"east_m", "north_m", "speed_mps"} <= set(series):
        return None
    time_s, speed_mps = series["elapsed_s"].to_numpy(), series["speed_mps"].to_numpy()
    known = np.isfinite(speed_mps) & np.isfinite(series["east_m"].to_numpy())
    if known.sum() < FEWEST_WINDOWS:
        return None
    time_s, speed_mps = time_s[known], speed_mps[known]
    east_m, north_m = (series[name].to_numpy()[known] for name in ("east_m", "north_m"))
    rolled_m = np.concatenate(([0.0], np.cumsum(np.diff(time_s) * (speed_mps[1:] + speed_mps[:-1]) / 2)))
    bounds_s = np.arange(time_s[0], time_s[-1], WINDOW_S)
    at = [np.interp(bounds_s, time_s, values) for values in (rolled_m, east_m, north_m)]
    way_m, *sides_m = (np.diff(values) for values in at)
    apart_m = np.hypot(*sides_m)
    whole = np.diff(np.searchsorted(time_s, bounds_s)) >= 3  # no window of which nothing was seen
    ratios = (apart_m / np.maximum(way_m, 1e-9))[whole & (way_m > LEAST_MPS * WINDOW_S)]
    return _median(ratios) if len(ratios) >= FEWEST_WINDOWS else None


def charge_force_n(series: pd.DataFrame) -> float | None:
    """The braking force that what reached the battery stands for, where it was largest: power over speed.

    A motor or its controller limits regen by current or by torque. The largest current tells the one limit, on any
    ride; of the other it tells how fast the bike was when it braked, but this force does not.

    Parameters
    ----------
    series : of an answer

    Returns
    -------
    Force [N]; ``None`` without power or speed, or where nothing came back above 3 m/s.
    """
    if not {"power_w", "speed_mps"} <= set(series):
        return None
    power_w, speed_mps = (series[name].to_numpy(dtype=float) for name in ("power_w", "speed_mps"))
    charging_mask = (power_w < 0) & (speed_mps > LEAST_MPS)
    force_n = np.sort(-power_w[charging_mask] / speed_mps[charging_mask])
    return float(np.median(force_n[-LARGEST:])) if len(force_n) >= LARGEST else None


def _median(values: Floats) -> Quantity:
    """The median with the order statistics that hold it 95 times in 100 (binomial, normal approximation)."""
    ordered, n = np.sort(values), len(values)
    half = COVERAGE_FACTOR * np.sqrt(n) / 2
    low, high = int(max(np.floor(n / 2 - half), 0)), int(min(np.ceil(n / 2 + half), n - 1))
    return Quantity(float(np.median(ordered)), float(ordered[low]), float(ordered[high]))
