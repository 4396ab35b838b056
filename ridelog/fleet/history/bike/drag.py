"""What do the coasting parts of many rides teach of a bike's drag?

One ride coasts for half a minute, and tells next to nothing of CdA: the more air, the less rolling. Many rides together
do, with what the bike file knows of rolling and motor. Each ride's pair (constant drag A, CdA) is weighed by its
covariance (generalised least squares; Aitken 1935, Proc. R. Soc. Edinb. 55:42). What rides on the same roads share, the
brow of a hill that heights round off each time, does not shrink with their number: its part of each ride's covariance
counts as fully correlated. Where rides scatter by more than they say, by unseen pedals perhaps, what they do not share
is widened by Birge's ratio (1932, Phys. Rev. 40:207). Where both move with time beyond that (Wald's test of the two
slopes, by F), the line is followed to the latest ride: what all rides share has no part in a slope. The mean is then
joined with what is known beforehand: A by the Crr and motor drag that were entered, which nothing here ever writes, and
CdA by how bikes differ. So what was learned once and entered is not taken for new knowledge the next time.
"""

import numpy as np
import pandas as pd

from ridelog.fleet.history.bike.learned import TREND_FROM
from ridelog.fleet.history.measured import NORMAL_95, Floats, numbers
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

FEWEST = 4  # rides, as for all that is learned
FEWEST_DATED = 8  # rides that a trend takes: each has two values, and two lines take four
FEWEST_S = 120.0  # of coasting together: below, what was known beforehand is all that there is
USUAL_CDA_M2, USUAL_CDA_LIMIT_M2 = 0.56, 0.29  # how bikes differ; `ridelog.analysis.road.load.DEFAULTS`
SECONDS_A_YEAR = 365.25 * 86_400
_LEAST = 1e-9


@dataclass(frozen=True)
class Known:
    """What is known of the drag beforehand.

    ``drag_n``, ``drag_u_n`` : rolling and motor together, with the standard uncertainty [N] · ``scale_u`` : of mass and
    density of the air, which scale the drag area of every ride alike [1]
    """

    drag_n: float
    drag_u_n: float
    scale_u: float


@dataclass(frozen=True)
class Drag:
    """What was learned: CdA with the half-width for a bike file, and A as coasting has it.

    ``cda_m2_per_year``, ``drag_n_per_year`` : how they move, ``None`` where no trend is told; the values are then those
    of the latest ride
    """

    cda_m2: Quantity
    cda_limit_m2: float
    drag_n: Quantity
    rides: int
    lasted_s: float
    cda_m2_per_year: float | None = None
    drag_n_per_year: float | None = None


def learned_drag(rides: pd.DataFrame, known: Known) -> Drag | None:
    """What the coasting of a bike's rides teaches of its drag.

    Parameters
    ----------
    rides : frame of answers of one bike, with the columns ``coasting_…``
    known : beforehand

    Returns
    -------
    drag : ``None`` where too few rides coasted, or too little
    """
    values, covariances, alike, years, lasted_s = _told(rides)
    if len(values) < FEWEST or lasted_s < FEWEST_S:
        return None
    mean, covariance = combined(values, covariances, alike)
    per_year: tuple[float | None, float | None] = None, None
    if (line := _moved(values, covariances, alike, years)) is not None:
        mean, covariance, per_year = line[0][:2], line[1][:2, :2], (float(line[0][2]), float(line[0][3]))
    before = np.array([known.drag_n, USUAL_CDA_M2])
    weight_before = np.diag([known.drag_u_n**-2, 3 * USUAL_CDA_LIMIT_M2**-2])
    weight = np.linalg.inv(covariance)
    both = np.linalg.inv(weight + weight_before)
    drag_n, cda_m2 = both @ (weight @ mean + weight_before @ before)
    drag_u, cda_u = np.sqrt(np.diag(both))
    cda_u = float(np.hypot(cda_u, known.scale_u * cda_m2))
    limit_m2, n = float(np.sqrt(3) * cda_u), len(values)
    return Drag(_within(cda_m2, cda_u), limit_m2, _within(drag_n, drag_u), n, lasted_s, per_year[1], per_year[0])


def _moved(values: Floats, covariances: Floats, alike: Floats, years: Floats) -> tuple[Floats, Floats] | None:
    """The pair at the latest ride and its slopes a year, with their covariance; ``None`` where no trend is told."""
    from scipy import stats

    if len(values) < FEWEST_DATED or not np.isfinite(years).all() or np.ptp(years) == 0:
        return None
    mean, covariance = combined(values, covariances, alike, years - years.max())
    wald = float(mean[2:] @ np.linalg.solve(covariance[2:, 2:], mean[2:]))
    p_value = float(stats.f.sf(wald / 2, 2, 2 * len(values) - 4))
    return (mean, covariance) if p_value <= TREND_FROM else None


def _within(value: float, u: float) -> Quantity:
    half = NORMAL_95 * u
    return Quantity(float(value), max(float(value - half), 0.0), float(value + half))


def _told(rides: pd.DataFrame) -> tuple[Floats, Floats, Floats, Floats, float]:
    """Pairs, covariances, the shared part of these, years, and how long was coasted, of the rides that tell."""
    names = ("drag_n", "cda_m2", "s", "drag_u_n", "cda_u_m2", "correlation_ratio")
    drag, cda, lasted, *own = (numbers(rides, f"coasting_{name}") for name in names)
    shared = [
        numbers(rides, f"coasting_{name}") for name in ("drag_alike_n", "cda_alike_m2", "alike_correlation_ratio")
    ]
    known = np.isfinite([drag, cda, *own, *shared]).all(axis=0) & (own[0] > 0) & (own[1] > 0)
    pairs = np.column_stack([drag, cda])[known]
    whole, alike = (_matrices(*(each[known] for each in parts)) for parts in (own, shared))
    begin = rides["ride_start"] if "ride_start" in rides else pd.Series(pd.NaT, index=rides.index)
    years = ((begin - begin.min()).dt.total_seconds() / SECONDS_A_YEAR).to_numpy()[known]
    return pairs, whole, alike, years, float(np.nansum(lasted[known]))


def _matrices(first_u: Floats, second_u: Floats, correlation: Floats) -> Floats:
    """Covariance matrices, shape (n, 2, 2)."""
    across = correlation * first_u * second_u
    return np.array([[first_u**2, across], [across, second_u**2]]).transpose(2, 0, 1)


def combined(values: Floats, covariances: Floats, alike: Floats, years: Floats | None = None) -> tuple[Floats, Floats]:
    """The mean of pairs by generalised least squares, or their line, with its covariance.

    Parameters
    ----------
    values : shape (n, 2)
    covariances : of each pair, shape (n, 2, 2)
    alike : the part of these that all share, shape (n, 2, 2)
    years : of each pair for a line, shape (n,)

    Returns
    -------
    mean : shape (2,); of a line the pair at year 0 and its slopes, shape (4,)
    covariance : of these
    """
    weights = np.linalg.inv(covariances)
    designs = np.broadcast_to(np.eye(2), (len(values), 2, 2))
    if years is not None:
        designs = np.concatenate([designs, designs * years[:, None, None]], axis=2)
    toward = designs.transpose(0, 2, 1) @ weights
    shares = np.linalg.inv(np.einsum("nij,njk->ik", toward, designs)) @ toward
    mean = np.einsum("nij,nj->i", shares, values)
    off = values - designs @ mean
    chi2 = float(np.einsum("ni,nij,nj->", off, weights, off))
    birge = max(1.0, chi2 / max(2 * len(values) - len(mean), 1))
    own = np.einsum("nij,njk,nlk->il", shares, covariances - alike, shares)
    values_of, vectors = np.linalg.eigh(alike)
    roots = vectors * np.sqrt(np.maximum(values_of, _LEAST**2))[:, None, :] @ vectors.transpose(0, 2, 1)
    root = np.einsum("nij,njk->ik", shares, roots)
    return mean, birge * own + root @ root.T
