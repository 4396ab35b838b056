"""Logs of a pack for tests: made of stretches of constant current, with all that the pack's questions look at."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ridelog.analysis.electrical.sensor import sensor_limits
from ridelog.analysis.pack.log import PackLog
from ridelog.settings.bike import SensorSection

SENSOR = SensorSection(
    current_zero_limit_a=0.0,
    current_gain_limit_pct=1.0,
    charge_gain_limit_pct=0.2,
    voltage_gain_limit_pct=0.5,
    standby_draw_a=0.0,
)


def stretches(*parts: tuple[float, float], step_s: float = 0.2) -> tuple[np.ndarray, np.ndarray]:
    """Times and values of stretches (value, seconds) one after the other."""
    values = np.concatenate([np.full(round(seconds / step_s), value) for value, seconds in parts])
    return step_s * np.arange(len(values)), values


def pack_log_of(
    *parts: tuple[float, float],
    step_s: float = 0.2,
    volts: float | np.ndarray = 52.0,
    n_cells: int = 13,
    **changes: Any,
) -> PackLog:
    """A log of stretches (amperes, seconds) at 6 m/s, braked throughout unless ``changes`` say otherwise."""
    time_s, current_a = stretches(*parts, step_s=step_s)
    n = len(time_s)
    voltage_v = np.broadcast_to(volts, n).astype(float)
    values: dict[str, Any] = {
        "time_s": time_s,
        "current_a": current_a,
        "voltage_v": voltage_v,
        "cell_v": voltage_v / n_cells,
        "n_cells_logged": 0,
        "temperature_c": np.full(n, 18.0),
        "speed_mps": np.full(n, 6.0),
        "braking_mask": np.ones(n, dtype=bool),
        "brake_ratio": np.full(n, np.nan),
        "counted": np.ones(n - 1, dtype=bool),
        "limits": sensor_limits(SENSOR),
        "noise_a": 0.0,
        "zero_half_a": 0.0,
        "shows_return": True,
    }
    return PackLog(**{**values, **changes})


def codes(findings: Sequence[Any]) -> list[tuple[str, str]]:
    """Code and severity of each finding."""
    return [(finding.code, finding.severity) for finding in findings]
