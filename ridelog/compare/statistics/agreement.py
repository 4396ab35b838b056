"""How well do two loggers agree that logged the same rides?

Limits of agreement (Bland and Altman 1986, Lancet 327:307): between them lie 95 of 100 differences. Their intervals are
exact for normal differences, by the noncentral t (Carkeet 2015, Optom. Vis. Sci. 92:e71): the usual ones, from the
standard error alone, are too narrow outwards below some thirty pairs.
"""

import numpy as np

from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

NORMAL_95 = 1.959963984540054


@dataclass(frozen=True)
class Agreement:
    """Second logger less first.

    ``bias`` : mean difference · ``sd`` : of differences · ``lower``, ``upper`` : limits of agreement, all with 95 %
    intervals · ``limit_se`` : standard error of a limit, as the paper has it: root (3 / n) sd
    """

    pairs: int
    bias: Quantity
    sd: float
    lower: Quantity
    upper: Quantity
    limit_se: float


def agreement(first: Floats, second: Floats, *, reach_sd: float = NORMAL_95) -> Agreement:
    """The limits of agreement of pairs.

    Parameters
    ----------
    first, second : of each pair, shape (n,), n >= 3
    reach_sd : standard deviations from the bias to a limit; the paper takes 2

    Returns
    -------
    agreement : with intervals
    """
    from scipy import stats

    differences = second - first
    n, bias, sd = len(differences), float(differences.mean()), float(differences.std(ddof=1))
    half = float(stats.t.ppf(0.975, n - 1)) * sd / np.sqrt(n)
    inner, outer = stats.nct.ppf([0.025, 0.975], n - 1, reach_sd * np.sqrt(n)) * sd / np.sqrt(n)
    return Agreement(
        n,
        Quantity(bias, bias - half, bias + half),
        sd,
        Quantity(bias - reach_sd * sd, bias - float(outer), bias - float(inner)),
        Quantity(bias + reach_sd * sd, bias + float(inner), bias + float(outer)),
        float(np.sqrt(3 / n)) * sd,
    )
