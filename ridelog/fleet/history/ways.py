"""Do two ways run along the same road, in the same direction?

The Fréchet distance of two lines is the shortest leash between somebody who walks the one and somebody who walks the
other, both forwards only (Fréchet 1906; discrete: Eiter and Mannila 1994, TU Vienna CD-TR 94/64). Unlike Hausdorff's it
tells a road from the same road the other way. Passes of one hill begin and end where each log found its grade, some ten
metres apart: only the stretch that both have is compared, and it must be most of either.
"""

import numpy as np

from ridelog.fleet.history.measured import Floats
from ridelog.lazy import dataclass

STEP_M = 10.0  # between the points of a line that is compared; adds at most half of it to a distance
_METRES_PER_DEGREE = 111_194.93  # of a sphere of 6,371,009 m: within 0.4 % of the ellipsoid


@dataclass(frozen=True)
class Agreement:
    """When two ways are one: ``apart_m`` the Fréchet distance, ``common`` the least share of either that both have."""

    apart_m: float = 35.0  # twice what two receivers are off in a street (95 %), and the width of a road
    common: float = 0.6


SAME_ROAD = Agreement()


def plane(latitude_deg: Floats, longitude_deg: Floats, origin: tuple[float, float]) -> Floats:
    """Positions in a plane about an origin.

    Parameters
    ----------
    latitude_deg, longitude_deg : WGS 84, shape (n,)
    origin : latitude and longitude [°]; of use within some tens of kilometres of it

    Returns
    -------
    East and north of the origin [m], shape (n, 2).
    """
    east = (np.mod(longitude_deg - origin[1] + 180, 360) - 180) * np.cos(np.radians(origin[0]))
    return np.column_stack([east, latitude_deg - origin[0]]) * _METRES_PER_DEGREE


def length_m(line: Floats) -> float:
    """Length of a line in a plane, shape (n, 2) [m]."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def resampled(line: Floats, step_m: float = STEP_M) -> Floats:
    """The same line with points evenly apart along it, its ends kept.

    Parameters
    ----------
    line : shape (n, 2), n >= 2 [m]
    step_m : at most so far apart [m]

    Returns
    -------
    line : shape (m, 2) [m]
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    even = np.linspace(0.0, along[-1], max(2, int(np.ceil(along[-1] / step_m)) + 1))
    return np.column_stack([np.interp(even, along, line[:, axis]) for axis in (0, 1)])


def frechet_m(first: Floats, second: Floats) -> float:
    """Discrete Fréchet distance of two lines by their points, shape (n, 2) and (m, 2) [m]."""
    import shapely

    return float(shapely.frechet_distance(shapely.linestrings(first), shapely.linestrings(second)))


def same_way(first: Floats, second: Floats, agreement: Agreement = SAME_ROAD) -> bool:
    """Whether two lines run along one road in one direction.

    Parameters
    ----------
    first, second : evenly resampled, in one plane, shape (n, 2) and (m, 2) [m]
    agreement : how close, and how much of either

    Returns
    -------
    same : never for the same road the other way
    """
    there, back = _part_beside(first, second), _part_beside(second, first)
    if there is None or back is None:
        return False
    if len(there) < agreement.common * len(first) or len(back) < agreement.common * len(second):
        return False
    return frechet_m(there, back) <= agreement.apart_m


def _part_beside(line: Floats, other: Floats) -> Floats | None:
    """The part of a line between its points nearest to the other's ends; ``None`` where it runs against the other."""
    begin, end = (int(np.argmin(np.hypot(*(line - point).T))) for point in (other[0], other[-1]))
    return line[begin : end + 1] if end > begin else None
