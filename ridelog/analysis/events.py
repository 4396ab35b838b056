"""Braking events as records: what each offered, what came back, what was caught."""

import numpy as np

from ridelog.analysis.braking import (
    DEFAULT_SETTINGS,
    BrakingSettings,
    Motion,
    Offered,
    braking_runs,
    event_kind,
    took_energy,
)
from ridelog.analysis.electrical import ElectricalFlow
from ridelog.analysis.road_load import RoadLoad
from ridelog.analysis.runs import Mask, Runs
from ridelog.answer import Braking, BrakingEvent, Quantity, quantity


def find_events(
    motion: Motion,
    offer: Offered,
    regen_mask: Mask,
    gap_mask: Mask,
    load: RoadLoad,
    *,
    settings: BrakingSettings = DEFAULT_SETTINGS,
) -> Runs:
    """First and last sample of each braking event; arrays as in `ridelog.analysis.braking`."""
    runs = braking_runs(
        motion, offer.force_n, regen_mask, gap_mask, load, height_known=offer.height_known, settings=settings
    )
    return [run for run in runs if took_energy(run, offer.state_j, regen_mask, load, settings)]


def available_wh(offer: Offered, first: int, last: int) -> float | None:
    """Loss of kinetic and potential energy less air and rolling loss, at least 0; ``None`` without height [Wh]."""
    joules = offer.state_j[first] - offer.state_j[last]
    return max(0.0, float(joules) / 3600) if offer.height_known and np.isfinite(joules) else None


def captured_pct(returned: Quantity | None, available: Quantity | None) -> Quantity | None:
    """100 × returned / available; ``None`` where one is not known or nothing was available."""
    if returned is None or available is None or available.value <= 0:
        return None
    return quantity(100 * returned.value / available.value)


def event_record(
    run: tuple[int, int], motion: Motion, offer: Offered, flow: ElectricalFlow, gap_mask: Mask
) -> BrakingEvent:
    """The record of one run of braking.

    Braking began and ended somewhere in the steps on either side of the run, so that what came back is counted from the
    sample before it to the sample after it. So is what was available, where those steps gave any up: coasting gives
    none, and what a driven step took in is not the loss of the brakes.
    """
    first, last = run
    before = first - 1 if first > 0 and not gap_mask[first - 1] else first
    after = last + 1 if last < len(gap_mask) and not gap_mask[last] else last
    start_s, end_s = float(motion.time_s[first]), float(motion.time_s[last])
    start_speed, end_speed = float(motion.speed_mps[first]), float(motion.speed_mps[last])
    drop_m = float(motion.height_m[first] - motion.height_m[last])
    returned_ah, returned_wh = returned_between(flow, float(motion.time_s[before]), float(motion.time_s[after]))
    gave_before = offer.state_j[before] > offer.state_j[first]
    gave_after = offer.state_j[after] < offer.state_j[last]
    available = quantity(available_wh(offer, before if gave_before else first, after if gave_after else last))
    return BrakingEvent(
        start_s=start_s,
        end_s=end_s,
        kind=event_kind(start_speed, end_speed, drop_m),
        start_speed_mps=start_speed if np.isfinite(start_speed) else None,
        end_speed_mps=end_speed if np.isfinite(end_speed) else None,
        drop_m=quantity(drop_m),
        returned_ah=returned_ah,
        returned_wh=returned_wh,
        available_wh=available,
        captured_pct=captured_pct(returned_wh, available),
    )


def returned_between(flow: ElectricalFlow, start_s: float, end_s: float) -> tuple[Quantity | None, Quantity | None]:
    """Charge [Ah] and energy [Wh] that came back in a time span; ``None`` where the log cannot tell."""
    if not flow.shows_return:
        return None, None
    window = flow.between(start_s, end_s)
    charge, energy = (part.returned_q() if part is not None else None for part in (window.charge, window.energy))
    return charge, energy


def braking_record(events: tuple[BrakingEvent, ...]) -> Braking:
    """All events together; a sum is ``None`` where no event has a value."""

    def total(name: str) -> Quantity | None:
        known = [value.value for event in events if (value := getattr(event, name)) is not None]
        return quantity(sum(known)) if known else None

    available, returned = total("available_wh"), total("returned_wh")
    return Braking(available, returned, captured_pct(returned, available), events)
