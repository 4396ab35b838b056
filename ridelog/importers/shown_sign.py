"""Does a log write its current with a sign? Then it can show a return, even on a ride that had none.

A minus before any number of the column proves it, before -0.00 as well; and so does a column of its own for what flows
in. It is the number as written that counts: a column whose drawn current is negative writes a sign with every sample.
"""

from collections.abc import Iterable

import numpy as np

from ridelog.arrays import Floats
from ridelog.importers.columns.column import Column


def shows_sign(columns: Iterable[tuple[Column, Floats | None]]) -> bool:
    """Whether the numbers that became battery current, or battery power where there is no current, carry a sign.

    Parameters
    ----------
    columns : after all are decided, each with its numbers as written, NaN where missing; ``None`` where not read

    Returns
    -------
    ``False`` shows nothing: the ride may have had no return.
    """
    decided = list(columns)
    for channel in ("current_a", "power_w"):
        chosen = [(column, written) for column, written in decided if column.channel == channel]
        if chosen:
            two_ways = {column.sign for column, _ in chosen} == {-1, 1}
            return two_ways or any(
                bool((np.signbit(written) & np.isfinite(written)).any()) for _, written in chosen if written is not None
            )
    return False
