"""Every threshold that an answer rests on, by question, with the value used; the unit of each is in its name.

Thresholds that are keywords of a function are taken from its signature: these defaults are what `measure` uses.
"""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import asdict
from types import MappingProxyType
from typing import Any

from ridelog.analysis.braking.force import DEFAULT_SETTINGS as BRAKING
from ridelog.analysis.braking.habit import DEFAULT_SETTINGS as HABIT
from ridelog.analysis.braking.passes import BOUND_U_M
from ridelog.analysis.braking.possible import DEFAULT_SETTINGS as CAPTURE
from ridelog.analysis.braking.told import DEFAULT_SETTINGS as TOLD
from ridelog.analysis.electrical.bridges import BRIDGES
from ridelog.analysis.electrical.charger import charging_mask
from ridelog.analysis.electrical.either_way import (
    DRIVEN_SHARE,
    EDGE_S,
    LEAST_BRAKED_S,
    LEAST_FLOWING_SHARE,
    LEAST_SPEED_MPS,
)
from ridelog.analysis.electrical.flow import LONGEST_BRIDGE_S
from ridelog.analysis.electrical.rest import (
    held_at_zero,
    idle_mask,
    quiet_runs,
    rests_elsewhere,
    standing_mask,
)
from ridelog.analysis.electrical.unseen_return import SEEN_A
from ridelog.analysis.electrical.zero import LARGEST_STANDBY_A, LARGEST_UNSTATED_ZERO_A
from ridelog.analysis.ledger.bands import EDGES_KMH, LimitSettings
from ridelog.analysis.ledger.entries import GENERATOR_EFFICIENCY, LEAST_RIDER_SHARE, RIDER_LIMIT_RATIO
from ridelog.analysis.pack.cut_out import DEFAULT_SETTINGS as CUT_OUT
from ridelog.analysis.pack.cut_out import DEFAULT_WEAKENING as WEAKENING
from ridelog.analysis.pack.limits import cold_charge, lasting_mask
from ridelog.analysis.pack.record import DANGEROUS_ABOVE_FULL_V, HARMFUL_ABOVE_FULL_V, LEAST_HEADROOM_AH
from ridelog.analysis.pack.resistance import DEFAULT_SETTINGS as RESISTANCE
from ridelog.analysis.road.distance import DEFAULT_DISTANCE_LIMIT_PCT, DISTANCE_LIMITS_PCT
from ridelog.analysis.road.height_coverage import DEFAULT_SETTINGS as COVERAGE
from ridelog.analysis.road.height_noise import DEFAULT_SETTINGS as HEIGHTS
from ridelog.analysis.road.hills.agreed_slopes import END_NEAR_M, MOST, SAME
from ridelog.analysis.road.hills.likely_roads import DEFAULT_SETTINGS as ROADS
from ridelog.analysis.road.hills.slopes import DEFAULT_SETTINGS as SLOPES
from ridelog.analysis.road.load_uncertainty import DEFAULT_SPEED_LIMIT_RATIO, GUST_RATIO, GUST_S, SPEED_LIMIT_RATIOS
from ridelog.analysis.road.no_road import leaping_m2
from ridelog.analysis.road.places import NEAR_M, same_hill_pairs
from ridelog.analysis.road.profile import ascent_descent_m
from ridelog.analysis.road.rough_heights import grade_smoothing_m
from ridelog.analysis.summary import MOVING_MPS
from ridelog.analysis.worth.benefit import BATTERY_EFFICIENCY, DRIVE_EFFICIENCY
from ridelog.analysis.worth.motor import CAPTURED_SHARES, STRIKING_PCT, USUAL_PCT
from ridelog.analysis.worth.record import LEAST_DISTANCE_M, LEAST_OUTLOOK_M, LEAST_SHARE, MOST_HEIGHT_SHARE
from ridelog.answer.provenance import Settings
from ridelog.constants import NOMINAL_PACK_V
from ridelog.recording import Ride
from ridelog.uncertain.coverage import P_COVERAGE
from ridelog.uncertain.trials import N_TRIALS


def settings_used(ride: Ride, *, min_height_m: float, min_grade_pct: float) -> Settings:
    """Every threshold that the answer of a ride rests on.

    Parameters
    ----------
    ride : brings the thresholds with which its files were put together
    min_height_m, min_grade_pct : of a hill [m], [%]

    Returns
    -------
    question -> threshold -> value
    """
    grouped: dict[str, Mapping[str, Any]] = {
        **ride.settings,
        "distance": _distance(ride),
        "hills": {
            **asdict(SLOPES),
            "min_height_m": min_height_m,
            "min_grade_pct": min_grade_pct,
            "both_ways_within_m": _default(same_hill_pairs, "tolerance_m"),
            "bound_u_m": BOUND_U_M,
            "place_within_m": NEAR_M,
            "same_ratio": SAME,
            "most_roads_ratio": MOST,
            "end_near_m": END_NEAR_M,
        },
        "likely_roads": asdict(ROADS),
        "heights": _heights(),
        "height_coverage": asdict(COVERAGE),
        "braking": asdict(BRAKING),
        "habit": asdict(HABIT),
        "captured": asdict(CAPTURE),
        "told": {**asdict(TOLD), "gust_ratio": GUST_RATIO, "gust_s": GUST_S},
        "electrical": _electrical(),
        "ledger": {
            "generator_efficiency": GENERATOR_EFFICIENCY,
            "rider_limit_ratio": RIDER_LIMIT_RATIO,
            "least_rider_share": LEAST_RIDER_SHARE,
            "speed_bands_kmh": EDGES_KMH,
        },
        "return_limit": asdict(LimitSettings()),
        "pack": _pack(),
        "resistance": asdict(RESISTANCE),
        "cut_out": asdict(CUT_OUT),
        "weakening": asdict(WEAKENING),
        "worth": _worth(),
        "intervals": {"coverage_ratio": P_COVERAGE, "n_trials": N_TRIALS},
    }
    return MappingProxyType({question: MappingProxyType(dict(values)) for question, values in grouped.items()})


def _distance(ride: Ride) -> dict[str, Any]:
    """Scale errors of the sources that speed and distance of this ride come from."""
    return {
        "moving_mps": MOVING_MPS,
        "speed_limit_ratio": SPEED_LIMIT_RATIOS.get(ride.speed_source or "", DEFAULT_SPEED_LIMIT_RATIO),
        "distance_limit_pct": DISTANCE_LIMITS_PCT.get(ride.distance_source or "", DEFAULT_DISTANCE_LIMIT_PCT),
    }


def _heights() -> dict[str, Any]:
    return {
        **asdict(HEIGHTS),
        "grade_u_limit": _default(grade_smoothing_m, "limit"),
        "longest_grade_smoothing_m": _default(grade_smoothing_m, "longest_m"),
        "ascent_reversal_m": _default(ascent_descent_m, "reversal_m"),
        "no_road_pct": _default(leaping_m2, "no_road_pct"),
        "leap_steep_pct": _default(leaping_m2, "steep_pct"),
    }


def _electrical() -> dict[str, Any]:
    return {
        "longest_bridge_s": LONGEST_BRIDGE_S,
        **{f"bridge_{name}": value for name, value in asdict(BRIDGES).items()},
        "largest_standby_a": LARGEST_STANDBY_A,
        "largest_unstated_zero_a": LARGEST_UNSTATED_ZERO_A,
        "nominal_pack_v": NOMINAL_PACK_V,
        "standing_mps": _default(standing_mask, "still_mps"),
        "standing_shortest_s": _default(standing_mask, "shortest_s"),
        "idle_largest_a": _default(idle_mask, "largest_a"),
        "idle_drift_a": _default(idle_mask, "drift_a"),
        "idle_shortest_s": _default(idle_mask, "shortest_s"),
        "halt_fewest": _default(rests_elsewhere, "fewest"),
        "halt_largest_a": _default(rests_elsewhere, "largest_a"),
        "held_at_zero_shortest_s": _default(held_at_zero, "shortest_s"),
        "held_at_zero_fewest": _default(held_at_zero, "fewest"),
        "quiet_n_sigma": _default(quiet_runs, "n_sigma"),
        "quiet_chunk_s": _default(quiet_runs, "chunk_s"),
        "charger_least_a": _default(charging_mask, "least_a"),
        "charger_shortest_s": _default(charging_mask, "shortest_s"),
        "return_seen_a": SEEN_A,
        "unsigned_least_flowing_share": LEAST_FLOWING_SHARE,
        "unsigned_least_braked_s": LEAST_BRAKED_S,
        "unsigned_driven_share": DRIVEN_SHARE,
        "unsigned_edge_s": EDGE_S,
        "unsigned_least_speed_mps": LEAST_SPEED_MPS,
    }


def _pack() -> dict[str, Any]:
    return {
        "harmful_above_full_v": HARMFUL_ABOVE_FULL_V,
        "dangerous_above_full_v": DANGEROUS_ABOVE_FULL_V,
        "least_headroom_ah": LEAST_HEADROOM_AH,
        "lasts_least_s": _default(lasting_mask, "shortest_s"),
        "lasts_least_n": _default(lasting_mask, "fewest"),
        "temperature_limit_c": _default(cold_charge, "sensor_c"),
        "least_cold_charge_ah": _default(cold_charge, "least_ah"),
    }


def _worth() -> dict[str, Any]:
    return {
        "battery_efficiency": BATTERY_EFFICIENCY,
        "drive_efficiency": DRIVE_EFFICIENCY,
        "least_distance_m": LEAST_DISTANCE_M,
        "least_outlook_m": LEAST_OUTLOOK_M,
        "most_height_share": MOST_HEIGHT_SHARE,
        "least_returned_share": LEAST_SHARE,
        "usual_pct": USUAL_PCT,
        "striking_pct": STRIKING_PCT,
        **{f"captured_share_{kind}": share for kind, share in CAPTURED_SHARES.items()},
    }


def _default(function: Callable[..., object], keyword: str) -> Any:
    """The default of a threshold that a function takes as a keyword."""
    return inspect.signature(function).parameters[keyword].default
