"""All rides of a store as tables: which there are, and where each went."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ridelog.fleet.store.store import Store
from ridelog.lazy import dataclass

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Listed:
    """All rides of a store.

    Attributes
    ----------
    rides : one row a ride, the newest first: the table of answers with ``route``, the key of the first ride that went
        that way, ``None`` where it passed no hill
    passes : one row a hill each time that it was ridden, with ``place``, the hill that it is
    """

    rides: pd.DataFrame
    passes: pd.DataFrame


def listed(store: Store) -> Listed:
    """All rides of a store, and where each went.

    Raises
    ------
    StoreError : the store cannot be read
    """
    from ridelog.fleet.history.places import same_hills
    from ridelog.fleet.history.routes import same_routes

    rides, hills = store.answers(), store.hills()
    hills = hills[hills["key"].isin(set(rides["key"]))].reset_index(drop=True)  # others may have written in between
    passes = hills.assign(place=same_hills(hills)).astype({"place": "str"})
    placed = passes.dropna(subset=["place"])
    along = rides[rides["key"].isin(set(placed["key"]))].reset_index(drop=True)
    first = same_routes(along, placed)
    routes = {key: along["key"][at] for key, at in zip(along["key"], first, strict=True) if at >= 0}
    rides = rides.assign(route=rides["key"].map(routes))
    return Listed(rides[::-1].reset_index(drop=True), passes)
