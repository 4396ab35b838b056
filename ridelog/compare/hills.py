"""The descents that rides of a comparison have in common: how long and high, and what each group captured there."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from ridelog.compare.observations import Observations
from ridelog.compare.record import HillFigure, HillSpread


def hill_figures(
    observed: Sequence[Observations], places: Mapping[tuple[str, float], str], passes: pd.DataFrame
) -> tuple[HillFigure, ...]:
    """Each descent that several groups rode, with what every group captured on it.

    Parameters
    ----------
    observed : of the rides; those of ``captured_pct`` on hills are told
    places : the hill of each pass, by key of the ride and start
    passes : one row a pass, as a store has them

    Returns
    -------
    In the order in which they were first ridden.
    """
    on_hills = next((one for one in observed if one.quantity == "captured_pct" and (one.hill != "").all()), None)
    if on_hills is None or not len(passes):
        return ()
    of_pass = [
        places.get((str(key), float(start_s))) for key, start_s in zip(passes["key"], passes["start_s"], strict=True)
    ]
    down = passes.assign(place=pd.Series(of_pass, index=passes.index, dtype=object))[
        passes["direction"] == "down"
    ].sort_values(["start_m", "key"], kind="stable")
    told = [
        (down[down["place"] == place], groups)
        for place in dict.fromkeys(down["place"].dropna())
        if len(groups := _groups(on_hills, str(place))) > 1
    ]
    return tuple(
        HillFigure(
            number, float(rows["length_m"].mean()), float(rows["height_m"].mean()), groups,
            {str(key): float(start_s) for key, start_s in rows.groupby("key")["start_s"].min().items()},
        )
        for number, (rows, groups) in enumerate(told, start=1)
    )  # fmt: skip


def _groups(observed: Observations, place: str) -> dict[str, HillSpread]:
    here = (observed.hill == place) & np.isfinite(observed.value)
    told = {}
    for group in dict.fromkeys(observed.group[here].tolist()):
        values = observed.value[here & (observed.group == group)]
        sd = float(values.std(ddof=1)) if len(values) > 1 else None
        told[str(group)] = HillSpread(len(values), float(values.mean()), sd)
    return told
