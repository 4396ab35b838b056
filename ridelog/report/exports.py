"""Everything of a ride for other programs: each table as CSV and Parquet, and a zip that says what it was made from."""

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, replace
from typing import Any

import pandas as pd

from ridelog.answer import frames
from ridelog.answer.ride import Answer
from ridelog.compare.groups import ComparedRide
from ridelog.compare.record import Comparison
from ridelog.lazy import dataclass
from ridelog.report.making import Making
from ridelog.tell.documents import ride as ride_words
from ridelog.tell.documents.names import short
from ridelog.tell.documents.rests import findings_of
from ridelog.uncertain.quantity import Quantity

STAMP = (1980, 1, 1, 0, 0, 0)  # of every member: a zip must have one, and the time of making would change the bytes
OF_EACH_RIDE = ("events", "kinds", "ledger", "sources", "columns", "findings")  # in a comparison's archive; no place
NAMES = ("path", "value", "low95", "high95")


def tables(answer: Answer) -> dict[str, pd.DataFrame]:
    """Every table of an answer, by its name; the unit of each column is in its name and in its ``attrs["units"]``.

    "numbers" is every number of the answer that has an interval, by its path in the JSON.
    """
    held = {name: frames.frame(answer, name) for name in frames.TABLES}
    held["samples"] = held["samples"].reset_index()
    return {"numbers": _numbers(answer), "bike": _bike(answer), "settings": _settings(answer), **held}


def _numbers(answer: Answer) -> pd.DataFrame:
    rows = list(_quantities(answer, ""))
    return pd.DataFrame(
        {
            "path": pd.array([path for path, _ in rows], dtype="string"),
            "unit": pd.array([frames.unit_of(path.rpartition(".")[2]) for path, _ in rows], dtype="string"),
            **{
                name: pd.array([getattr(quantity, name) for _, quantity in rows], dtype="Float64") for name in NAMES[1:]
            },
        }
    )


def _quantities(record: Any, path: str) -> Any:
    """Every quantity in a record and its place."""
    if isinstance(record, Quantity):
        yield path, record
    elif isinstance(record, tuple):
        for place, each in enumerate(record):
            yield from _quantities(each, f"{path}[{place}]")
    elif hasattr(record, "__dataclass_fields__"):
        for name in record.__dataclass_fields__:
            yield from _quantities(getattr(record, name), f"{path}.{name}" if path else name)


def _bike(answer: Answer) -> pd.DataFrame:
    values = answer.bike.values()
    cells = {name: [_plain(getattr(used, name)) for used in values.values()] for name in ("value", "limit", "source")}
    return pd.DataFrame({"key": list(values), **cells}).astype("string")


def _settings(answer: Answer) -> pd.DataFrame:
    rows = [(question, key, _plain(value)) for question, own in answer.settings.items() for key, value in own.items()]
    return pd.DataFrame(rows, columns=["question", "threshold", "value"]).astype("string")


def _plain(value: object) -> str | None:
    return None if value is None else json.dumps(value) if not isinstance(value, str) else value


def csv_of(table: pd.DataFrame) -> bytes:
    """A table as CSV in UTF-8."""
    return table.to_csv(index=False, lineterminator="\n", date_format="%Y-%m-%dT%H:%M:%S.%fZ").encode()


def parquet_of(table: pd.DataFrame) -> bytes:
    """A table as Parquet."""
    content = io.BytesIO()
    table.to_parquet(content, index=False)
    return content.getvalue()


def comparison_tables(comparison: Comparison) -> dict[str, pd.DataFrame]:
    """Every table of a comparison, by its name, its columns as those of `tables`."""
    rows: dict[str, list[dict[str, object]]] = {
        "groups": [_flat(group) for group in comparison.groups],
        "differences": [_flat(difference) for difference in comparison.differences],
        "conditions": [
            {"quantity": each.quantity, "group": group, "mean": spread.mean, "sd": spread.sd, "differs": each.differs,
             "corrected": each.corrected}
            for each in comparison.conditions
            for group, spread in each.groups.items()
        ],
        "precision": [
            {"group": group.name, "quantity": quantity, **_flat(found)}
            for group in comparison.groups
            for quantity, found in group.precision.items()
            if found is not None
        ],
        "flows": [
            {"about": flow.about, "quantity": flow.quantity, "group": group, **vars(over)}
            for flow in comparison.flows
            for group, over in flow.groups.items()
        ],
        "rides": [_flat(ride) for ride in comparison.rides],
        "shared": [
            {"quantity": each.quantity, "first": each.first, "second": each.second, "paired_by": each.paired_by,
             "corrected": each.corrected, "cause": cause, "u": u}
            for each in comparison.differences
            for cause, u in each.shared.items()
        ],
        "hills": [
            {"number": hill.number, "length_m": hill.length_m, "height_m": hill.height_m, "group": group,
             **vars(spread)}
            for hill in comparison.hills
            for group, spread in hill.groups.items()
        ],
    }  # fmt: skip
    return {name: _with_units(pd.DataFrame(held)) for name, held in rows.items()}


def basis_tables(rides: Sequence[ComparedRide]) -> dict[str, pd.DataFrame]:
    """What the rides of a comparison rest on and what each gave, as `tables` has it of one, with its group and name.

    Parameters
    ----------
    rides : that were compared

    Returns
    -------
    Tables by name; empty without rides.
    """
    told: dict[str, list[pd.DataFrame]] = {}
    for ride in rides:
        answer = replace(ride.answer, findings=tuple(findings_of(ride)))
        for name, table in _of_ride(answer).items():
            own = table.assign(path=table["path"].map(short)) if name in ("sources", "columns") else table
            of = {"group": ride.group, "ride": ride.name}
            beside = pd.DataFrame({key: [value] * len(own) for key, value in of.items()}, dtype="string")
            told.setdefault(name, []).append(pd.concat([beside, own], axis="columns"))
    framed = {name: pd.concat(some, ignore_index=True) for name, some in told.items()}
    return {name: _with_units(table) for name, table in framed.items()}


def _with_units(table: pd.DataFrame) -> pd.DataFrame:
    table.attrs["units"] = {str(name): unit for name in table if (unit := frames.unit_of(str(name))) is not None}
    return table


def _of_ride(answer: Answer) -> dict[str, pd.DataFrame]:
    held = {name: frames.frame(answer, name) for name in OF_EACH_RIDE}
    return {"numbers": _numbers(answer), "bike": _bike(answer), "settings": _settings(answer), **held}


def _flat(record: Any) -> dict[str, object]:
    """A record as a row: a quantity takes three columns, and what holds others none."""
    row: dict[str, object] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        if isinstance(value, Quantity) or "Quantity" in str(field.type):
            bounds = (value and value.value, value and value.low95, value and value.high95)
            row |= dict(zip((field.name, f"{field.name}_low95", f"{field.name}_high95"), bounds, strict=True))
        elif not isinstance(value, Mapping):
            row[field.name] = value
    return row


@dataclass(frozen=True)
class Manifest:
    """What an archive says of itself: its title, the command that makes it again, and each file it was made from."""

    title: str
    ridelog: str
    command: str | None
    inputs: tuple[Mapping[str, str], ...]


def archive(files: Mapping[str, bytes], held: Mapping[str, pd.DataFrame], manifest: Manifest) -> bytes:
    """A zip of a document, its figures, every table and a manifest; the same input gives the same bytes.

    Parameters
    ----------
    files : name -> content of the document and its figures
    held : name -> table
    manifest : what it says of itself

    Returns
    -------
    The zip. Its ``manifest.json`` holds the SHA-256 of every file that was measured, and of every member.
    """
    members = dict(files)
    units: dict[str, Mapping[str, str]] = {}
    for name, table in held.items():
        units[name] = dict(table.attrs.get("units", {}))
        members[f"tables/{name}.csv"] = csv_of(table)
        members[f"tables/{name}.parquet"] = parquet_of(table)
    hashes = {name: hashlib.sha256(content).hexdigest() for name, content in sorted(members.items())}
    told = {**asdict(manifest), "members": hashes, "units": units}
    members["manifest.json"] = (json.dumps(told, indent=2, ensure_ascii=False) + "\n").encode()
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as packed:
        for name in sorted(members):
            member = zipfile.ZipInfo(name, STAMP)
            member.compress_type = zipfile.ZIP_DEFLATED
            member.external_attr = 0o644 << 16
            packed.writestr(member, members[name])
    return content.getvalue()


def manifest_of(answer: Answer, making: Making) -> Manifest:
    """The manifest of a ride's archive."""
    inputs = [{"name": source.path, "role": source.role, "sha256": source.sha256} for source in answer.sources]
    inputs += [{"name": given.name, "role": given.role, "sha256": given.sha256} for given in making.given]
    return Manifest(ride_words.title(answer), answer.ridelog, making.command, tuple(inputs))
