"""Which of many tests stand out, so that a set of bikes without any fault rarely shows one?

Holm's step-down correction (Holm 1979, Scand. J. Statist. 6:65), by statsmodels: the probability of any false alarm
among all tests together stays at or below the rate, whatever the tests have in common.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def told(p_values: Sequence[float], rate: float) -> NDArray[np.bool_]:
    """Which tests stand out when all are looked at together.

    Parameters
    ----------
    p_values : one a test that was made
    rate : probability of any false alarm

    Returns
    -------
    mask, shape (n,)
    """
    if not len(p_values):
        return np.zeros(0, dtype=bool)
    from statsmodels.stats.multitest import multipletests

    return np.asarray(multipletests(p_values, alpha=rate, method="holm")[0], dtype=bool)


def stepped(p_values: Sequence[float], rate: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Corrected p-values, and the rate that each test is held against, so that intervals at these give the verdicts.

    The smallest of n p-values is held against rate / n, the next against rate / (n - 1), as Holm steps down; those
    after the first that is not told are held against what that one was.

    Parameters
    ----------
    p_values : one a test that was made
    rate : probability of any false alarm

    Returns
    -------
    corrected : p-values that may each be held against the rate of all tests together, shape (n,)
    rates : shape (n,); a test is told where its own p-value is at most its rate
    """
    told_p = np.asarray(p_values, dtype=float)
    n, corrected, rates = len(told_p), told_p.copy(), np.full(len(told_p), rate)
    if n > 1:
        from statsmodels.stats.multitest import multipletests

        corrected = np.asarray(multipletests(told_p, alpha=rate, method="holm")[1], dtype=float)
        order = np.argsort(told_p, kind="stable")
        n_told = int(np.count_nonzero(corrected <= rate))
        rates[order] = rate / (n - np.minimum(np.arange(n), min(n_told, n - 1)))
    return corrected, rates
