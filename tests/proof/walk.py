"""Nothing impossible: every quantity of an answer, and what of them may not exceed what."""

from collections.abc import Iterator, Mapping
from typing import Any

from ridelog.answer.ride import Answer

ROUNDING = 1e-9


def quantities(part: Any, at: str = "") -> Iterator[tuple[str, dict[str, float | None]]]:
    """Every quantity of an answer as plain data, with the place where it stands."""
    if isinstance(part, Mapping):
        if set(part) == {"value", "low95", "high95"}:
            yield at, dict(part)
            return
        for name, value in part.items():
            yield from quantities(value, f"{at}.{name}" if at else str(name))
    elif isinstance(part, list | tuple):
        for index, value in enumerate(part):
            yield from quantities(value, f"{at}[{index}]")


def numbers(part: Any, at: str = "") -> Iterator[tuple[str, float]]:
    """Every number of an answer as plain data."""
    if isinstance(part, Mapping):
        for name, value in part.items():
            yield from numbers(value, f"{at}.{name}" if at else str(name))
    elif isinstance(part, list | tuple):
        for index, value in enumerate(part):
            yield from numbers(value, f"{at}[{index}]")
    elif isinstance(part, float):
        yield at, part


def impossible(answer: Answer) -> list[str]:
    """What of an answer cannot be, each in a line; empty where all of it can."""
    plain = answer.to_dict()
    found = [f"{at} is {value}" for at, value in numbers(plain) if value != value or abs(value) == float("inf")]
    for at, one in quantities(plain):
        value, low, high = one["value"], one["low95"], one["high95"]
        if value is None:
            found.append(f"{at} has no value")
        elif (low is None) != (high is None):
            found.append(f"{at} has one bound only: {one}")
        elif low is not None and high is not None and not low - ROUNDING <= value <= high + ROUNDING:
            found.append(f"{at} lies outside its interval: {one}")
        if at.endswith(("captured_pct", "share_of_returned_pct")) and not all(
            0 <= bound <= 100 for bound in one.values() if bound is not None
        ):
            found.append(f"{at} lies outside 0 to 100: {one}")
        if (
            at.endswith(("available_wh", "drawn_wh", "returned_wh"))
            and min((b for b in one.values() if b is not None), default=0) < 0
        ):
            found.append(f"{at} lies below 0: {one}")
    return [*found, *_beyond_their_whole(answer)]


def _beyond_their_whole(answer: Answer) -> Iterator[str]:
    """Events, kinds, bands and hills that together exceed the ride, or of which captured contradicts its parts."""
    whole = answer.braking
    for name in ("drawn_wh", "returned_wh"):
        flowed = getattr(answer.energy, name)
        on_hills = sum(told.value for told in (getattr(hill, name) for hill in answer.hills) if told is not None)
        if on_hills > (flowed.value if flowed is not None else 0.0) * (1 + 1e-6) + ROUNDING:
            yield f"hills {name} {on_hills:g} exceed what the ride had"
    back = answer.energy.returned_wh
    if back is not None and whole.returned_wh is not None and whole.returned_wh.value > back.value * (1 + ROUNDING):
        yield f"braking returned {whole.returned_wh.value:g} exceeds {back.value:g} of the ride"
    for name in ("available_wh", "returned_wh"):
        most = getattr(whole, name)
        down = [hill for hill in answer.hills if hill.direction == "down"]
        for what, parts in (
            ("events", whole.events),
            ("kinds", whole.kinds),
            ("bands", answer.speed_bands),
            ("hills", down),
        ):
            told: list[Any] = [getattr(one, name) for one in parts]
            together = sum(one.value for one in told if one is not None)
            if most is None and together > ROUNDING and (what != "hills" or name == "available_wh"):
                yield f"{what} {name} {together:g}, but none of the ride"
            elif (
                most is not None
                and (what != "hills" or name == "available_wh")  # what came back outside braking is in a hill as well
                and together > most.value * (1 + 1e-6) + ROUNDING
            ):
                yield f"{what} {name} {together:g} exceed {most.value:g} of the ride"
    every: list[Any] = [whole, *whole.kinds, *whole.events, *answer.hills]
    for one in every:
        share, part, of = one.captured_pct, one.returned_wh, one.available_wh
        if share is not None and (part is None or of is None):
            yield f"captured {share.value:g} % of what is not known"
