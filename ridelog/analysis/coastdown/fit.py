"""The fit of a coast-down: constant drag and drag area per mass from how the speed falls over many stretches at once.

    dv/dt = −(a + b (v + w)|v + w|) − g (m/m_e) sin θ,    a = A/m_e,  b = ½ρ CdA/m_e

is integrated, not differentiated: noise of the speed stays what it is. What else acts is fitted with it and held by
what is known of it beforehand: wind, the error of the grade along each road, the scale of speed and of height (least
squares with priors; their covariance carries all of them into a and b). Roads that are ridden both ways have one grade
and one wind, which then tell themselves from rolling and air.
"""

from typing import Any

import numpy as np

from ridelog.arrays import Floats
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass

N_WAVES = 5  # of the error of the grade along a road; shorter ones are left to the noise of the speed
COMMON = ("wind north", "wind east", "head wind", "speed scale", "height scale")


@dataclass(frozen=True)
class Stretch:
    """One stretch of coasting; arrays of shape (m,).

    Attributes
    ----------
    time_s, speed_mps : samples [s], [m/s]
    sine : of the slope, positive uphill [1]
    heading_rad : clockwise from north; ``None`` where not known [rad]
    along_m : place along its road, whichever way it is ridden [m]
    road, way : number of the road, and 1 or −1 for the way that it is ridden
    """

    time_s: Floats
    speed_mps: Floats
    sine: Floats
    heading_rad: Floats | None
    along_m: Floats
    road: int
    way: int


@dataclass(frozen=True)
class Priors:
    """What is known before the fit: standard uncertainties of what acts beside the drag.

    Attributes
    ----------
    wind_mps : along north and along east, where headings are known, for the whole ride [m/s]
    head_mps, head_u_mps : of a wind that is always ahead, with its best value; for stretches without heading [m/s]
    gust_mps : of each stretch's own wind beside those [m/s]
    speed_ratio, height_ratio : scales of speed and height [1]
    grade_u : of each wave of the error of the grade, shape (n_roads, N_WAVES): the coefficients of the orthonormal
        cosines over the road's length [√m]
    grade_alike : part of the variance of each wave that is the same whenever that road is ridden, shape of ``grade_u``;
        none where ``None`` [1]
    """

    wind_mps: float
    head_mps: float
    head_u_mps: float
    gust_mps: float
    speed_ratio: float
    height_ratio: float
    grade_u: Floats
    grade_alike: Floats | None = None


@dataclass(frozen=True)
class Fit:
    """What the fit found.

    Attributes
    ----------
    drag, drag_area : a [m/s²] and b [1/m]
    covariance : of (a, b), shape (2, 2), everything that was fitted beside them in it
    alike : the part of ``covariance`` that other rides on the same roads have in common with this one, shape (2, 2)
    common : values of `COMMON` with their standard uncertainties
    noise_mps : standard deviation of the speed about the fit [m/s]
    n_alike : over how many samples that noise lasts; 1 where it is white
    rms_mps : of each stretch, shape (n_stretches,) [m/s]
    """

    drag: float
    drag_area: float
    covariance: Floats
    alike: Floats
    common: dict[str, tuple[float, float]]
    noise_mps: float
    n_alike: float
    rms_mps: Floats


def fitted_covariance(jacobian: Floats, residual_s: float = 1.0) -> Floats:
    """Covariance of least-squares parameters, s² (JᵀJ)⁻¹ (JCGM 100:2008, H.3.3).

    Parameters
    ----------
    jacobian : of what is compared by the parameters, shape (n, p); rows divided by their standard uncertainties where
        these differ or are known, ``residual_s`` is 1 then
    residual_s : standard deviation of the residuals, n − p degrees of freedom

    Raises
    ------
    numpy.linalg.LinAlgError : the parameters cannot be told apart
    """
    scale = np.linalg.norm(jacobian, axis=0)
    scale = np.where(scale > 0, scale, 1.0)  # a parameter that shows nowhere makes the matrix singular, as it should
    scaled = jacobian / scale
    inverse = np.linalg.inv(scaled.T @ scaled)
    if not (np.diag(inverse) > 0).all():
        raise np.linalg.LinAlgError("the parameters cannot be told apart")
    result: Floats = residual_s**2 * (inverse + inverse.T) / 2 / np.outer(scale, scale)
    return result


class CoastModel:
    """Speeds of all stretches by all parameters, for one or several sets of parameters at once.

    Parameters of shape (p,): a, b, those of `COMMON`, the waves of each road, wind and first speed of each stretch; all
    but a, b and the first speeds in units of their prior standard uncertainty, about their best value.
    """

    def __init__(self, stretches: list[Stretch], priors: Priors, mass_ratio: float, *, step_s: float = 1.0) -> None:
        self.stretches, self.priors, self.mass_ratio = stretches, priors, mass_ratio
        self.n, self.n_roads = len(stretches), len(priors.grade_u)
        self.road = np.array([stretch.road for stretch in stretches])
        lasts = np.array([stretch.time_s[-1] - stretch.time_s[0] for stretch in stretches])
        self.usual_area = 0.0  # b at which winds are counted, see `fit_coasts`
        self.steps = max(int(np.ceil(lasts.max() / step_s)), 4)
        self.step_s = lasts / self.steps
        self._lay_out()
        self._index_samples()
        self.first_wave = 2 + len(COMMON)
        self.first_gust = self.first_wave + self.n_roads * N_WAVES
        self.first_speed = self.first_gust + self.n
        self.n_parameters = self.first_speed + self.n
        self.speed_mps = np.concatenate([stretch.speed_mps for stretch in stretches])

    def _lay_out(self) -> None:
        """Slope, heading and waves at the ends and middles of the steps, shape (2 steps + 1, n)."""
        share = np.linspace(0, 1, 2 * self.steps + 1)
        columns: dict[str, list[Floats]] = {"sine": [], "north": [], "east": [], "waves": [], "blind": []}
        bounds = self._road_bounds()
        for stretch in self.stretches:
            at_s = stretch.time_s[0] + share * (stretch.time_s[-1] - stretch.time_s[0])

            def at(values: Floats, at_s: Floats = at_s, stretch: Stretch = stretch) -> Floats:
                return np.interp(at_s, stretch.time_s, values)

            columns["sine"].append(at(stretch.sine))
            known = stretch.heading_rad is not None
            heading = np.zeros(len(stretch.time_s)) if stretch.heading_rad is None else stretch.heading_rad
            columns["north"].append(at(np.cos(heading)) * known)
            columns["east"].append(at(np.sin(heading)) * known)
            columns["blind"].append(np.full(len(share), float(not known)))
            low, length = bounds[stretch.road]
            waves = np.cos(np.outer(np.arange(N_WAVES), np.pi * (at(stretch.along_m) - low) / length))
            waves *= np.sqrt(np.where(np.arange(N_WAVES) > 0, 2.0, 1.0) / length)[:, None]
            columns["waves"].append(stretch.way * self.priors.grade_u[stretch.road][:, None] * waves)
        self.sine, self.north, self.east, self.blind = (
            np.stack(columns[name], axis=-1) for name in ("sine", "north", "east", "blind")
        )
        self.waves = np.stack(columns["waves"], axis=-1)  # (N_WAVES, 2 steps + 1, n)

    def _road_bounds(self) -> list[tuple[float, float]]:
        result = []
        for road in range(self.n_roads):
            places = np.concatenate([s.along_m for s in self.stretches if s.road == road] or [np.zeros(1)])
            result.append((float(places.min()), max(float(np.ptp(places)), 10.0)))
        return result

    def _index_samples(self) -> None:
        """For every sample: its stretch, the step that it lies in, and where in it."""
        parts = []
        for number, stretch in enumerate(self.stretches):
            at = (stretch.time_s - stretch.time_s[0]) / self.step_s[number]
            step = np.minimum(at.astype(int), self.steps - 1)
            parts.append((np.full(len(at), number), step, at - step))
        self.of, self.step, self.within = (np.concatenate(column) for column in zip(*parts, strict=True))

    def start(self, drag: float, drag_area: float) -> Floats:
        """Parameters to begin with: best values, and the first speeds as logged (mean of the first three)."""
        self.usual_area = drag_area
        result = np.zeros(self.n_parameters)
        result[:2] = drag, drag_area
        result[self.first_speed :] = [stretch.speed_mps[:3].mean() for stretch in self.stretches]
        return result

    def speeds(self, parameters: Floats) -> Floats:
        """Speeds as logged, at all samples, shape (n_sets, n_samples), for parameters of shape (n_sets, p)."""
        sets = np.atleast_2d(parameters)
        drag, area = sets[:, 0, None], sets[:, 1, None]
        north, east, ahead, scale, height = (sets[:, 2 + i, None] for i in range(len(COMMON)))
        waves = sets[:, self.first_wave : self.first_gust].reshape(len(sets), self.n_roads, N_WAVES)[:, self.road]
        gust = sets[:, self.first_gust : self.first_speed] * self.priors.gust_mps
        p = self.priors
        wind = -p.wind_mps * (north * self.north[:, None] + east * self.east[:, None]) + gust
        wind = wind + (p.head_mps + p.head_u_mps * ahead) * self.blind[:, None]
        wind = wind * np.clip(self.usual_area / np.where(area > 0, area, 1e-9), 0.3, 3.0)
        sine = self.sine[:, None] * (1 + p.height_ratio * height) + np.einsum("prj,jtr->tpr", waves, self.waves)
        pull = STANDARD_GRAVITY * self.mass_ratio * sine + drag  # (2 steps + 1, n_sets, n)
        speed, rate = self._integrate(pull, wind, area, sets[:, self.first_speed :])
        return self._at_samples(speed, rate) / (1 + p.speed_ratio * scale)

    def _integrate(self, pull: Floats, wind: Floats, area: Floats, first: Floats) -> tuple[Floats, Floats]:
        """Classical Runge–Kutta steps; speeds and their rates at the ends of the steps, (steps + 1, n_sets, n)."""
        h = self.step_s

        def rate_at(place: int, speed: Floats) -> Floats:
            air = speed + wind[place]
            result: Floats = -pull[place] - area * air * np.abs(air)
            return result

        speed = first
        speeds, rates = [speed], [rate_at(0, speed)]
        for place in range(0, 2 * self.steps, 2):
            k1 = rates[-1]
            k2 = rate_at(place + 1, speed + h / 2 * k1)
            k3 = rate_at(place + 1, speed + h / 2 * k2)
            k4 = rate_at(place + 2, speed + h * k3)
            speed = np.clip(speed + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4), -60.0, 60.0)  # far-off trials stay finite
            speeds.append(speed)
            rates.append(rate_at(place + 2, speed))
        return np.stack(speeds), np.stack(rates)

    def _at_samples(self, speed: Floats, rate: Floats) -> Floats:
        """Cubic Hermite between the ends of the steps; its error is of the order of Runge–Kutta's own."""
        u, n, k = self.within[:, None], self.step, self.of
        h = self.step_s[k][:, None]
        before, after = speed[n, :, k], speed[n + 1, :, k]
        result = (1 + 2 * u) * (1 - u) ** 2 * before + u**2 * (3 - 2 * u) * after
        result = result + h * (u * (1 - u) ** 2 * rate[n, :, k] - u**2 * (1 - u) * rate[n + 1, :, k])
        transposed: Floats = result.T
        return transposed

    def jacobian(self, parameters: Floats) -> Floats:
        """Change of the speeds by each parameter, shape (n_samples, p), by central differences.

        What belongs to one road or one stretch moves no other: all roads, and all stretches, are moved at once.
        """
        groups: list[tuple[Any, Any]] = [
            (np.array([i]), np.zeros(len(self.of), dtype=int)) for i in range(self.first_wave)
        ]
        roads = self.first_wave + N_WAVES * np.arange(self.n_roads)
        groups += [(roads + wave, self.road[self.of]) for wave in range(N_WAVES)]
        groups += [(first + np.arange(self.n), self.of) for first in (self.first_gust, self.first_speed)]
        steps = np.full(len(groups), 1e-3)
        steps[:2] = 1e-4, 1e-5
        sets = np.repeat(parameters[None, :], 2 * len(groups), axis=0)
        for number, (columns, _) in enumerate(groups):
            sets[2 * number, columns] += steps[number]
            sets[2 * number + 1, columns] -= steps[number]
        moved = self.speeds(sets)
        result = np.zeros((len(self.of), self.n_parameters))
        for number, (columns, which) in enumerate(groups):
            slope = (moved[2 * number] - moved[2 * number + 1]) / (2 * steps[number])
            result[np.arange(len(self.of)), columns[which]] = slope
        return result


def fit_coasts(
    stretches: list[Stretch],
    priors: Priors,
    *,
    mass_ratio: float = 1.0,
    first_guess: tuple[float, float] = (0.08, 0.003),
    rounds: int = 4,
) -> Fit:
    """Fit drag and drag area per mass to all stretches.

    Parameters
    ----------
    stretches : at least one
    priors : what is known beforehand
    mass_ratio : mass over mass with the inertia of what turns [1]
    first_guess : a and b to begin with [m/s²], [1/m]
    rounds : times that the noise of the speed is found from the residuals and the fit made anew

    Returns
    -------
    The values with their covariance, and what is left of each stretch.

    Raises
    ------
    ValueError : no stretch
    numpy.linalg.LinAlgError : the stretches say nothing on drag or drag area

    Notes
    -----
    Wind acts by b times its speed. Were b and every gust free, a larger b with smaller gusts would fit any scatter for
    less: the mode of all together lies above the mode of b alone, by about u² for each gust that the data tell. Winds
    are therefore fitted as what they do at the b of the round before.

    Noise that lasts over several samples is weighed by how many samples are alike (sum of its autocorrelations up to
    the first that is not above 0), so that it neither outweighs the priors nor narrows the intervals.
    """
    from scipy.optimize import least_squares

    if not stretches:
        raise ValueError("there is no stretch of coasting to fit")
    model = CoastModel(stretches, priors, mass_ratio)
    held = slice(2, model.first_speed)  # what priors hold, in units of its standard uncertainty
    prior_rows = np.eye(model.n_parameters)[held]
    parameters, noise, n_alike = model.start(*first_guess), 0.1, 1.0
    jacobian = model.jacobian(parameters)
    for _ in range(rounds):
        weight = 1 / (noise * np.sqrt(n_alike))

        def off(x: Floats, weight: float = weight) -> Floats:
            return np.concatenate([weight * (model.speeds(x)[0] - model.speed_mps), x[held]])

        def slopes(x: Floats, weight: float = weight) -> Floats:
            return np.vstack([weight * model.jacobian(x), prior_rows])

        found = least_squares(
            off, parameters, jac=slopes, method="lm", x_scale="jac", xtol=1e-12, ftol=1e-12, gtol=1e-12, max_nfev=50
        )
        parameters = found.x
        if parameters[1] > 0:
            model.usual_area = float(parameters[1])
        residuals = model.speeds(parameters)[0] - model.speed_mps
        jacobian = np.vstack([weight * model.jacobian(parameters), prior_rows])
        noise, n_alike = _noise(residuals, model, jacobian)
    jacobian[: len(residuals)] *= 1 / (noise * np.sqrt(n_alike)) / weight
    covariance = fitted_covariance(jacobian)
    u = np.sqrt(np.diag(covariance))
    sizes = (priors.wind_mps, priors.wind_mps, priors.head_u_mps, priors.speed_ratio, priors.height_ratio)
    return Fit(
        drag=float(parameters[0]),
        drag_area=float(parameters[1]),
        covariance=covariance[:2, :2],
        alike=_alike(covariance, model),
        common={
            name: (float(size * parameters[2 + i]), float(size * u[2 + i]))
            for i, (name, size) in enumerate(zip(COMMON, sizes, strict=True))
        },
        noise_mps=noise,
        n_alike=n_alike,
        rms_mps=np.sqrt(np.bincount(model.of, residuals**2) / np.bincount(model.of)),
    )


def _alike(covariance: Floats, model: CoastModel) -> Floats:
    """What an error of the grade that is there each time does to a and b.

    A wave that is off by its prior's standard uncertainty, while the prior holds it at 0, moves the fitted a and b by
    its covariances with them: in these units its row of the Jacobian is 1.
    """
    if model.priors.grade_alike is None:
        return np.zeros((2, 2))
    by_wave = covariance[:2, model.first_wave : model.first_gust] * np.sqrt(model.priors.grade_alike.ravel())
    return np.asarray(by_wave @ by_wave.T)


def _noise(residuals: Floats, model: CoastModel, jacobian: Floats, *, least_mps: float = 1e-6) -> tuple[float, float]:
    """Standard deviation of the speed about the fit, and over how many samples its noise lasts.

    Degrees of freedom are the samples less what the fit takes of them: the trace of its hat matrix.
    """
    rows = jacobian[: len(residuals)]
    taken = float(np.einsum("ij,jk,ik->", rows, fitted_covariance(jacobian), rows))
    noise = float(np.sqrt(np.sum(residuals**2) / max(len(residuals) - taken, 1.0)))
    power = float(np.mean(residuals**2))
    n_alike = 1.0
    for lag in range(1, 20):
        same = model.of[lag:] == model.of[:-lag]
        if same.sum() < 10 or power <= 0:
            break
        ratio = float(np.mean(residuals[lag:][same] * residuals[:-lag][same])) / power
        if ratio <= 2 / np.sqrt(same.sum()):  # what chance makes of white noise
            break
        n_alike += 2 * ratio
    return max(noise, least_mps), n_alike
