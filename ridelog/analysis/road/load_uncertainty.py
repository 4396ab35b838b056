"""How sure the road load is: trials of mass, air, rolling, wind and speed that are the same for the whole ride."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.load import DEFAULTS, RoadLoad, air_density
from ridelog.arrays import Floats, robust_scale
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS

# Half-widths where the bike file gives a value without its limit. Mass: what clothes, water and a shopping bag add
# between weighing and riding. CdA, Crr: a value taken from a table or another ride fits this rider and this road no
# better; roughness alone moves rolling by a third (Turner 2024, arXiv 2405.00019, says more than rolling itself).
# Weather: a station's values some kilometres and an hour away; wind at a rider's height is gusty and sheltered.
GIVEN_LIMIT_RATIOS = {"bike.total_mass_kg": 0.03, "bike.rotating_mass_kg": 0.3, "road.cda_m2": 0.25, "road.crr": 0.40}
GIVEN_LIMITS = {"road.air_temperature_c": 3.0, "road.air_pressure_hpa": 5.0, "road.wind_mps": 1.5}
OWN_LIMITS = {"bike.total_mass_kg": "total_mass_limit_kg", "road.cda_m2": "cda_limit_m2", "road.crr": "crr_limit"}

# Half-width of the speed's scale error by source: 1 to 2 % for a rolling circumference, which load, tyre pressure and
# wear change; satellites measure speed without a scale.
SPEED_LIMIT_RATIOS = {"wheel": 0.015, "device": 0.015, "positions": 0.003}
DEFAULT_SPEED_LIMIT_RATIO = 0.015

# Wind of a single stretch about that of the ride: standard deviation over the wind, and for how long it lasts. Gusts of
# a quarter to a third of the wind last for seconds, turns of 10 to 30 degrees for minutes (judgement).
GUST_RATIO, GUST_S = 0.3, 30.0


def road_limits(bike: Bike) -> dict[str, float]:
    """Half-widths of the rectangular distributions of what the road load is made of, by key of `DEFAULTS`.

    The bike file's limit where it gives the value and its limit; a stated fraction where it gives the value alone
    (`GIVEN_LIMIT_RATIOS`, `GIVEN_LIMITS`); that of `DEFAULTS` where it gives no value.
    """
    limits = {}
    for key, (_, default_limit) in DEFAULTS.items():
        section, name = key.split(".")
        value = getattr(getattr(bike, section), name)
        own = getattr(getattr(bike, section), OWN_LIMITS[key]) if key in OWN_LIMITS else None
        if value is None:
            limits[key] = default_limit
        elif own is not None:
            limits[key] = float(own)
        else:
            limits[key] = GIVEN_LIMITS[key] if key in GIVEN_LIMITS else GIVEN_LIMIT_RATIOS[key] * abs(float(value))
    return limits


@dataclass(frozen=True, eq=False)
class RoadTrials:
    """Trials of what is the same for the whole ride, each shape (n_trials,), about the road load ``load``.

    ``speed_ratio`` : its true scale over the recorded one · ``north_mps``, ``east_mps`` : the error of the wind along
    north and east, or along and across the way where no heading is known; each within the limit of the head wind ·
    ``moved`` : one trial each of the best values before and after the ride itself told something of them, where it did
    """

    load: RoadLoad
    mass_kg: Floats
    rotating_kg: Floats
    cda_m2: Floats
    crr: Floats
    density: Floats
    north_mps: Floats
    east_mps: Floats
    speed_ratio: Floats
    seed: str
    moved: "tuple[RoadTrials, RoadTrials] | None" = None

    @property
    def n(self) -> int:
        """How many trials."""
        return len(self.mass_kg)

    @property
    def blowing_mps(self) -> Floats:
        """How fast the wind blows, from whichever side, shape (n_trials,)."""
        return np.asarray(np.sqrt(self.load.wind_mps**2 + self.north_mps**2 + self.east_mps**2))

    def middle(self, weight: Floats) -> "RoadTrials":
        """One trial: the weighted mean of each."""
        return self._each(lambda trials: np.array([np.average(trials, weights=weight)]))

    def only(self, trials: NDArray[np.intp]) -> "RoadTrials":
        """Some of the trials."""
        return self._each(lambda every: every[trials])

    def _each(self, made: Callable[[Floats], Floats]) -> "RoadTrials":
        """The road with each of its trials made anew."""
        return RoadTrials(
            self.load,
            mass_kg=made(self.mass_kg),
            rotating_kg=made(self.rotating_kg),
            cda_m2=made(self.cda_m2),
            crr=made(self.crr),
            density=made(self.density),
            north_mps=made(self.north_mps),
            east_mps=made(self.east_mps),
            speed_ratio=made(self.speed_ratio),
            seed=self.seed,
        )


def road_trials(
    load: RoadLoad, bike: Bike, *, speed_source: str | None = None, n_trials: int = N_TRIALS, seed: str = "road"
) -> RoadTrials:
    """Trials of mass, CdA, Crr, air density, wind and the scale of the speed, independent of each other.

    Parameters
    ----------
    load : the road load with its best values
    bike : the bike file, for the limits
    speed_source : what the speed comes from, a key of `SPEED_LIMIT_RATIOS`; as from a wheel where ``None``
    n_trials, seed : how many, and their stream

    Returns
    -------
    Trials of each, shape (n_trials,).
    """
    limits = road_limits(bike)
    rng = stream(seed)

    def about(value: float, limit: float, least: float = -math.inf) -> Floats:
        return np.maximum(value + limit * rng.uniform(-1, 1, n_trials), least)

    mass_kg = about(load.mass_kg, limits["bike.total_mass_kg"], 1.0)
    rotating_kg = about(load.effective_mass_kg - load.mass_kg, limits["bike.rotating_mass_kg"], 0.0)
    cda_m2 = about(load.cda_m2, limits["road.cda_m2"], 0.0)
    crr = about(load.crr, limits["road.crr"], 0.0)
    temperature_c, pressure_hpa = 15.0, load.density / air_density(15.0, 1.0)  # any pair of that density serves
    warmth = about(temperature_c, limits["road.air_temperature_c"])
    pressure = about(pressure_hpa, limits["road.air_pressure_hpa"])
    density = 100 * pressure / (100 * pressure_hpa) * load.density * (temperature_c + 273.15) / (warmth + 273.15)
    north_mps, east_mps = about(0.0, limits["road.wind_mps"]), about(0.0, limits["road.wind_mps"])
    speed_ratio = about(1.0, SPEED_LIMIT_RATIOS.get(speed_source or "", DEFAULT_SPEED_LIMIT_RATIO))
    return RoadTrials(load, mass_kg, rotating_kg, cda_m2, crr, density, north_mps, east_mps, speed_ratio, seed)


def gust_u_ratio(lasted_s: Floats) -> Floats:
    """Standard uncertainty of the mean wind of stretches about that of the ride, over the latter, by their length.

    The mean of a first-order autoregressive wind: 2 τ/T (1 − τ/T (1 − e^(−T/τ))) of its variance.
    """
    share = GUST_S / np.maximum(lasted_s, 1e-3)
    return np.asarray(GUST_RATIO * np.sqrt(np.clip(2 * share * (1 + share * np.expm1(-1 / share)), 0.0, 1.0)))


def speed_noise_mps(speed_mps: Floats) -> float:
    """Standard uncertainty of a single speed, from its second differences (median, so that braking does not count).

    White noise σ gives second differences of the standard deviation σ √6. Where most of them are 0 the last digit
    hides the noise; the smallest step of the speed over √12 is then the answer.
    """
    bends = np.abs(np.diff(speed_mps, 2))
    moving = np.isfinite(bends) & (speed_mps[1:-1] > 0.5)
    if moving.sum() < 10:
        return 0.0
    steps = np.abs(np.diff(speed_mps))
    steps = steps[np.isfinite(steps) & (steps > 1e-6)]
    digit = float(np.quantile(steps, 0.01)) if len(steps) else 0.0
    return max(robust_scale(bends[moving], centre=0.0) / math.sqrt(6), digit / math.sqrt(12))
