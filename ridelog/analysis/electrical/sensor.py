"""What the current and voltage sensor keeps to, and trials of those of its errors that are common to a whole ride."""

from collections.abc import Collection, Mapping

import numpy as np

from ridelog.analysis.electrical.zero import Zero
from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS

# The errors that act on drawn and returned, by the names that a budget gives them.
ZERO, GAIN, CHARGE_GAIN, VOLTAGE_GAIN, SAMPLING, MISSING = ERRORS = (
    "current zero",
    "current gain",
    "charge against discharge gain",
    "voltage gain",
    "sampling and noise",
    "missing samples",
)

# Limits (half-widths of rectangular distributions) where the bike file gives none: what controllers and battery
# management systems commonly keep to (common practice, no source).
DEFAULT_LIMITS = {
    "current_zero_limit_a": 0.15,
    "current_gain_limit_pct": 2.0,
    "charge_gain_limit_pct": 0.5,
    "voltage_gain_limit_pct": 1.0,
}


@dataclass(frozen=True)
class SensorLimits:
    """Half-widths of rectangular distributions (JCGM 100:2008, 4.3.7) and the standby draw, if known."""

    zero_a: float
    gain: float
    charge_gain: float
    voltage_gain: float
    standby_a: float | None
    assumed: Mapping[str, float]  # those that the bike file does not give, by its keys


def sensor_limits(sensor: SensorSection) -> SensorLimits:
    """The bike file's limits, completed by `DEFAULT_LIMITS`."""
    given = {key: getattr(sensor, key) for key in DEFAULT_LIMITS}
    limits = {key: value if value is not None else DEFAULT_LIMITS[key] for key, value in given.items()}
    assumed = {key: limits[key] for key, value in given.items() if value is None}
    return SensorLimits(
        limits["current_zero_limit_a"],
        limits["current_gain_limit_pct"] / 100,
        limits["charge_gain_limit_pct"] / 100,
        limits["voltage_gain_limit_pct"] / 100,
        sensor.standby_draw_a,
        assumed,
    )


@dataclass(frozen=True)
class Common:
    """Trials of what is common to the whole ride, shape (N_TRIALS,); ``cancelled`` of the unit 1.

    ``stated_zero_a`` : the zero error but for the noise of this ride's reading at rest
    """

    zero_a: Floats
    current_gain: Floats
    charge_gain: Floats
    voltage_gain: Floats
    cancelled: Floats
    stated_zero_a: Floats

    @property
    def gain(self) -> Floats:
        """Gain of drawn and returned alike."""
        return self.current_gain * self.voltage_gain

    def only(self, acting: Collection[str], zero_a: float) -> "Common":
        """The trials with only some errors acting; the others at their best values."""
        still = np.ones(N_TRIALS)
        return Common(
            self.zero_a if ZERO in acting else zero_a * still,
            self.current_gain if GAIN in acting else still,
            self.charge_gain if CHARGE_GAIN in acting else still,
            self.voltage_gain if VOLTAGE_GAIN in acting else still,
            self.cancelled,
            self.stated_zero_a,
        )


def common_trials(zero: Zero, limits: SensorLimits, *, with_voltage: bool) -> Common:
    """Trials of zero and gains, and of what cancels within means; the voltage's gain is 1 for charge.

    Parameters
    ----------
    zero : the zero error of the current
    limits : what the sensor keeps to
    with_voltage : energy is counted, not charge

    Returns
    -------
    Trials, each shape (n_trials,).
    """
    rng = stream("sensor")
    parts = rng.uniform(-1, 1, (4, N_TRIALS))
    stated_zero_a = zero.spread_over((parts[0] + 1) / 2)
    zero_a = stated_zero_a + zero.noise_a * rng.standard_normal(N_TRIALS)
    voltage_gain = limits.voltage_gain if with_voltage else 0.0
    return Common(
        zero_a,
        1 + limits.gain * parts[1],
        1 + limits.charge_gain * parts[2],
        1 + voltage_gain * parts[3],
        rng.standard_normal(N_TRIALS),
        stated_zero_a,
    )
