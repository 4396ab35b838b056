"""GPX and FIT files without a track that can be used."""

from collections.abc import Collection

from ridelog.errors import InputError
from ridelog.tell.findings.files import damage_words
from ridelog.tell.numbers import count, counted

_RECORDED = "was a ride recorded, and did the copy finish?"
_PLANNED = {"rte": "a planned route", "wpt": "single waypoints"}


def harmful_xml(name: str) -> InputError:
    """Document types and entities can be made to fill the memory or to reach other files."""
    return InputError(
        name,
        "declares a document type or entities, which a GPX file never needs and which can harm; not read",
        hint="export the ride again from the device or the app it came from",
    )


def broken_xml(name: str, line: int) -> InputError:
    """Nothing stands whole before the damage."""
    return InputError(
        name,
        "is not whole XML, and holds nothing that could be kept before the damage",
        place=f"line {line}",
        hint="export the ride again, or copy the file from the device again",
    )


def no_usable_point(name: str, n_points: int, *, with_position: bool) -> InputError:
    """Points without a time, or without time and position.

    Parameters
    ----------
    name : of the file
    n_points : how many there are
    with_position : their position can be read

    Returns
    -------
    The error.
    """
    what = "time" if with_position else "position and a time"
    told = "its only track point has no" if n_points == 1 else f"none of its {counted(n_points, 'track point')} has a"
    hint = "it may be a planned route; export the ride as it was recorded"
    return InputError(name, f"{told} {what} that can be read", hint=hint)


def no_track(name: str, elements: Collection[str]) -> InputError:
    """A document of other things, by the names of its elements."""
    held = " and ".join(words for kind, words in _PLANNED.items() if kind in elements)
    return InputError(
        name,
        f"holds {held or 'nothing'} and no recorded track",
        hint="export the ride as it was recorded (a track), not as it was planned",
    )


def no_fit_sample(name: str) -> InputError:
    """A FIT file of something else than a ride."""
    return InputError(name, "is a FIT file that holds no recorded sample", hint=_RECORDED)


def fit_of_empty_messages(name: str, most: int) -> InputError:
    """A FIT file of so many messages that hold nothing that it was made to keep a reader busy."""
    return InputError(name, f"holds more than {count(most)} messages without a single field, which no device writes")


def fit_damaged_at_once(name: str, damage: str, at: float | None) -> InputError:
    """A FIT file damaged before its first sample: the kind of `damage_words`, and at which byte.

    Parameters
    ----------
    name : of the file
    damage : its kind, of `ridelog.tell.findings.files.damage_words`
    at : at which byte; ``None`` where that is not known

    Returns
    -------
    The error.
    """
    return InputError(name, f"is damaged before its first sample ({damage_words(damage, at)})", hint=_RECORDED)


def no_fit_time(name: str, n_samples: int) -> InputError:
    """Samples without a time."""
    told = (
        "holds one sample, which has no time" if n_samples == 1 else f"holds {count(n_samples)} samples without a time"
    )
    return InputError(name, told, hint=_RECORDED)
