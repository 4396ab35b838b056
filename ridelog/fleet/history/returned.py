"""Rides whose log shows no return: nothing came back, or nobody can say?

A single log in which no sample is negative may come from a logger that clips at zero. Where the same set-up of the
logger has shown a return on other rides of the bike, it does not clip: then nothing came back.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.fleet.history.measured import measured

SHARES = ("charge_recovered_pct", "energy_recovered_pct", "braking_captured_pct")


def nothing_returned(rides: pd.DataFrame) -> NDArray[np.bool_]:
    """Rides of which other rides of the bike tell that nothing came back.

    Parameters
    ----------
    rides : of one bike, or of several (``bike``, ``can_show_return``, ``log_layout``, ``braking_available_wh``)

    Returns
    -------
    mask, shape (n,). A ride on which braking is known to have had nothing to give (its interval reaches 0) is none.
    """
    if not {"can_show_return", "log_layout"} <= set(rides.columns):
        return np.zeros(len(rides), dtype=bool)
    shown = rides["can_show_return"].fillna(value=False).astype(bool).to_numpy()
    logger = rides["bike"].astype(str) + "\0" + rides["log_layout"].astype(str)
    told = logger.isin(set(logger[shown])).to_numpy() & rides["log_layout"].notna().to_numpy()
    available = measured(rides, "braking_available_wh")
    something = ~(available.value - 1.96 * available.u_low <= 0)  # not known counts as something
    return np.asarray(~shown & told & something)


def with_nothing(rides: pd.DataFrame) -> pd.DataFrame:
    """The same rides, with 0 % recovered and captured where other rides tell that nothing came back."""
    mask = nothing_returned(rides)
    if not mask.any():
        return rides
    filled = rides.copy()
    for share in SHARES:
        if share in filled:
            for column in (share, f"{share}_low95", f"{share}_high95"):
                if column in filled:
                    filled.loc[mask, column] = 0.0
    return filled
