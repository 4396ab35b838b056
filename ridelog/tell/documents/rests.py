"""What a comparison rests on, in tables: values of the bikes, how columns were read, files, what was found on rides."""

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from ridelog.answer.provenance import BikeValue, Settings
from ridelog.answer.ride import Source
from ridelog.compare.groups import ComparedRide
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.tell.documents.basis import LIMITS, NAMES, UNSEEN, value_text
from ridelog.tell.documents.names import AND, finding_called, short
from ridelog.tell.findings import sentence
from ridelog.tell.findings.words import listed
from ridelog.tell.numbers import Style, counted
from ridelog.tell.table import Column, Table
from ridelog.tell.tables import ROLES, column_uses

Rides = Sequence[ComparedRide]
Item = TypeVar("Item")
Key = TypeVar("Key")

ORIGINS = {"entered": "entered", "measured": "measured", "assumed": "assumed"}
BESIDE = {"bike": "bike file", "columns": "column map"}
GRAVITY = {"danger": 0, "warning": 1, "note": 2}
VALUES, READINGS, FILES, FOUND = "Values of the bikes", "How columns were read", "Files", "Findings of the rides"
SEVERAL = "Where rides of a group have several values, the least and the largest stand there."
KEY = "key of the ride"
READINGS_LEAD = (
    "Columns that were read alike stand once. Where a reason has numbers in it, they are those of the first file."
)
FOUND_NOTE = "Each sentence is that of the first ride that has the finding; their numbers differ from ride to ride."


def values(rides: Rides, style: Style) -> Table:
    """Every value of the bikes that was used, group by group, by its key in the bike file.

    Parameters
    ----------
    rides : of the comparison
    style : units, digits and separators

    Returns
    -------
    A row a value; groups whose values are all the same have one column.
    """
    groups = _by(rides, lambda ride: ride.group)
    used = {ride.key: ride.answer.bike.values() for ride in rides}
    keys = list(dict.fromkeys(key for own in used.values() for key, one in own.items() if one.value is not None))
    rows = []
    for key in keys:
        own = [[used[ride.key].get(key, BikeValue()) for ride in some] for some in groups.values()]
        origins = dict.fromkeys(ORIGINS.get(one.source or "", UNSEEN) for some in own for one in some)
        told = (_several(key, some, style) for some in own)
        rows.append((key, NAMES.get(key, (key, None))[0], *told, ", ".join(origins)))
    alike = all(len(set(row[2:-1])) == 1 for row in rows)
    names = ["value"] if alike else list(groups)
    columns = (
        Column("key", "key", align="left"),
        Column("meaning", "what it is", align="left"),
        *(Column(f"value_{at}", name, align="left", given=not alike) for at, name in enumerate(names)),
        Column("origin", "origin", align="left"),
    )
    kept = tuple((*row[:2], *row[2 : 2 + len(names)], row[-1]) for row in rows)
    return Table("bike", VALUES, columns, kept, f"{SEVERAL} {LIMITS}" if _is_several(rides, used) else LIMITS)


def _is_several(rides: Rides, used: dict[str, dict[str, BikeValue]]) -> bool:
    groups = _by(rides, lambda ride: ride.group)
    return any(used[ride.key] != used[some[0].key] for some in groups.values() for ride in some)


def _several(key: str, used: Sequence[BikeValue], style: Style) -> str | None:
    """A value of several rides: as it is, or from the least to the largest."""
    known = [one for one in used if one.value is not None]
    numbers = [one for one in known if isinstance(one.value, (int, float)) and not isinstance(one.value, bool)]
    if len(numbers) == len(known):
        known = sorted(known, key=lambda one: (float(one.value or 0.0), one.limit or 0.0))
        known = [*known[:1], *known[-1:]]
    told = list(dict.fromkeys(value_text(key, one, style) for one in known))
    return (" to " if len(numbers) else ", ").join(told) or None


@dataclass(frozen=True)
class Reading:
    """Files that were read alike: what they are, which, of which rides, and how each column was understood."""

    heading: str
    told: str
    columns: Table


def readings(rides: Rides, style: Style) -> list[Reading]:
    """How the columns of the recordings were read, files that were read alike together.

    Parameters
    ----------
    rides : of the comparison
    style : how numbers are written

    Returns
    -------
    One for each way to read, those of electrical logs as they come first on rides.
    """
    files = [(ride, source) for ride in rides for source in ride.answer.sources if source.columns]
    told = []
    for some in _by(files, lambda each: _way(each[1])).values():
        source = some[0][1]
        names = list(dict.fromkeys(short(one.path) for _, one in some))
        named = listed(names[:3]) if len(names) <= 3 else f"{names[0]} and others"
        of = [ride for ride, _ in some]
        heading = f"{ROLES[source.role][:1].upper()}{ROLES[source.role][1:]}, {source.format.upper()}"
        told.append(
            Reading(heading, f"{named}: {counted(len(some), 'file', style=style)} of {which(of, rides)}.",
                    column_uses(source.columns, style))
        )  # fmt: skip
    return told


def _way(source: Source) -> tuple[object, ...]:
    uses = (
        (one.column, one.quantity, one.unit, one.factor, one.offset, one.sign, one.channel) for one in source.columns
    )
    return (source.role, source.format, *uses)


def which(some: Iterable[ComparedRide], rides: Rides) -> str:
    """Some of the rides in words: all of them, all of some groups, or each by its group and name.

    Parameters
    ----------
    some : of the rides
    rides : all of them

    Returns
    -------
    A phrase.
    """
    keys = {ride.key for ride in some}
    if len(keys) == len(rides):
        return "all rides"
    told = []
    for group, own in _by(rides, lambda ride: ride.group).items():
        names = [ride.name for ride in own if ride.key in keys]
        if names:
            told.append(f"all of {group}" if len(names) == len(own) else f"{group} {listed(names)}")
    return listed(told)


def files_of(ride: ComparedRide) -> list[tuple[str, str]]:
    """Name and SHA-256 of each file that a ride was measured from, and with."""
    recordings = [(short(source.path), source.sha256) for source in ride.answer.sources]
    return [*recordings, *((one.name or BESIDE[one.role], one.sha256) for one in ride.beside)]


def files(rides: Rides) -> Table:
    """Every file with its SHA-256, ride by ride, then what rides were measured with beside their recordings.

    A ride that is called by its files has no name besides.
    """
    columns = (
        Column("file", "file", align="left"),
        Column("ride", "ride", align="left"),
        Column("group", "group", align="left"),
        Column("sha256", "SHA-256", align="left"),
    )
    rows = []
    for ride in rides:
        recordings = [(short(source.path), source.sha256) for source in ride.answer.sources]
        called = "" if ride.name == AND.join(name for name, _ in recordings) else ride.name
        rows += [(name, called, ride.group, sha256) for name, sha256 in (*recordings, (KEY, ride.key))]
    for beside, some in _by(((ride, one) for ride in rides for one in ride.beside), lambda each: each[1]).items():
        of = which([ride for ride, _ in some], rides)
        called = f"{beside.name} ({BESIDE[beside.role]})" if beside.name else BESIDE[beside.role]
        rows.append((called, "", of, beside.sha256))
    return Table("files", FILES, columns, tuple(rows))


def settings(rides: Rides) -> list[tuple[Settings, list[ComparedRide]]]:
    """The thresholds that rides were measured with, those of versions that had others apart."""
    told: list[tuple[Settings, list[ComparedRide]]] = []
    for ride in rides:
        same = next((some for own, some in told if own == ride.answer.settings), None)
        if same is None:
            told.append((ride.answer.settings, [ride]))
        else:
            same.append(ride)
    return told


def findings_of(ride: ComparedRide) -> list[Finding]:
    """What was found on a ride, its files called by their names alone."""
    names = {source.path: short(source.path) for source in ride.answer.sources}
    return [finding_called(each, lambda text: names.get(text, text)) for each in ride.answer.findings]


def found(rides: Rides, style: Style) -> Table:
    """What was found on single rides, gravest first.

    Parameters
    ----------
    rides : of the comparison
    style : units, digits and separators

    Returns
    -------
    A row a finding, with the rides that have it.
    """
    columns = (
        Column("finding", "finding", align="left"),
        Column("severity", "severity", align="left"),
        Column("n_rides", "rides"),
        Column("which", "which", align="left"),
        Column("sentence", "of the first of them", align="left"),
    )
    every = [(ride, finding) for ride in rides for finding in findings_of(ride)]
    by_code = _by(every, lambda each: (each[1].severity, each[1].code))
    rows = []
    for (severity, code), some in sorted(by_code.items(), key=lambda each: GRAVITY[each[0][0]]):
        of = {ride.key: ride for ride, _ in some}
        rows.append((code, severity, len(of), which(of.values(), rides), sentence(some[0][1], style)))
    return Table("found", FOUND, columns, tuple(rows), FOUND_NOTE)


def _by(items: Iterable[Item], key: Callable[[Item], Key]) -> dict[Key, list[Item]]:
    """Items by what they have in common, in the order in which that is first met."""
    told: dict[Key, list[Item]] = {}
    for item in items:
        told.setdefault(key(item), []).append(item)
    return told
