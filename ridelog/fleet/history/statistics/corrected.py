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
