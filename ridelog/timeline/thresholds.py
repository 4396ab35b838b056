"""The thresholds with which the files of a ride are put together, by question; the unit of each is in its name."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import asdict

from ridelog.arrays import default_gap_limit_s
from ridelog.timeline.clock.settings import DEFAULTS as CLOCK
from ridelog.timeline.motion.counted import LEAP_M, WOBBLE_M
from ridelog.timeline.motion.heights import height_leaps
from ridelog.timeline.motion.spikes import spike_mask


def thresholds_used() -> Mapping[str, Mapping[str, float]]:
    """Question -> threshold -> value; keywords of a function as its signature has them."""
    return {
        "clock": asdict(CLOCK),
        "motion": {
            "gap_least_s": _default(default_gap_limit_s, "least_s"),
            "gap_factor": _default(default_gap_limit_s, "factor"),
            "gap_quantile": _default(default_gap_limit_s, "quantile"),
            "spike_limit_mps2": _default(spike_mask, "limit_mps2"),
            "spike_least_mps": _default(spike_mask, "least_mps"),
            "counter_wobble_m": WOBBLE_M,
            "counter_leap_m": LEAP_M,
            "height_leap_m": _default(height_leaps, "least_m"),
            "height_leap_mps": _default(height_leaps, "rate_mps"),
        },
    }


def _default(function: Callable[..., object], keyword: str) -> float:
    return float(inspect.signature(function).parameters[keyword].default)
