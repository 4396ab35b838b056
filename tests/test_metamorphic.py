"""The same ride told otherwise gives the same answer: in other units, packed, cut in two, at another hour, thinned.

Nothing is known here of what the answer should be, only that it must not depend on how the log is written. Where the
change costs information, as thinning does, the interval must hold what the whole log said.
"""

import gzip
import io
import re
import tomllib
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest

import ridelog
from ridelog.answer.ride import Answer
from tests.places import SAMPLES
from tests.scenarios import SLUGS, sample_answer

Files = dict[str, bytes]
# What is said of the files themselves, and times of day.
OF_THE_FILES = ("sources", "findings", "settings", "ridelog", "schema", "bike")
STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z")


def files_of(slug: str) -> Files:
    """The files of a sample ride, by name, in the order in which they are given."""
    about = tomllib.loads((SAMPLES / slug / "about.toml").read_text(encoding="utf-8"))
    return {name: (SAMPLES / slug / name).read_bytes() for name in about["files"]}


def measured(slug: str, files: Files) -> Answer:
    given = [(name, io.BytesIO(content)) for name, content in files.items()]
    return ridelog.measure(ridelog.load_ride(given, bike=SAMPLES / slug / "bike.toml"))


def log_of(files: Files) -> str:
    """The name of the delimited log."""
    return next(name for name in files if name.endswith(".csv"))


def rewritten(files: Files, change: Callable[[list[list[str]]], list[list[str]]]) -> Files:
    """The files with the cells of the delimited log changed, its header being the first row."""
    name = log_of(files)
    text = files[name].decode("utf-8")
    mark = ";" if ";" in text.splitlines()[0] else ","
    rows = change([line.split(mark) for line in text.splitlines()])
    return {**files, name: ("\n".join(mark.join(row) for row in rows) + "\n").encode()}


def in_other_unit(files: Files, unit: str, other: str, factor: float, decimals: int) -> Files:
    """A column in another unit, to so many decimals."""

    def change(rows: list[list[str]]) -> list[list[str]]:
        head = rows[0]
        at = next(index for index, name in enumerate(head) if re.search(rf"[\[(]{re.escape(unit)}[\])]", name))
        comma = any("," in cell for row in rows[1:9] for cell in row)
        told = [[*head[:at], re.sub(rf"(?<=[\[(]){re.escape(unit)}(?=[\])])", other, head[at]), *head[at + 1 :]]]
        for row in rows[1:]:
            cell = f"{float(row[at].replace(',', '.')) * factor:.{decimals}f}"
            told.append([*row[:at], cell.replace(".", ",") if comma else cell, *row[at + 1 :]])
        return told

    return rewritten(files, change)


def sign_turned(files: Files) -> Files:
    """What is drawn below zero."""

    def change(rows: list[list[str]]) -> list[list[str]]:
        at = next(index for index, name in enumerate(rows[0]) if "current" in name or "strom" in name)
        turned = (
            [*row[:at], row[at].removeprefix("-") if row[at][0] == "-" else f"-{row[at]}", *row[at + 1 :]]
            for row in rows[1:]
        )
        return [rows[0], *turned]

    return rewritten(files, change)


def in_local_time(files: Files) -> Files:
    """The log's stamps seven hours west of Greenwich, and it does not say so."""
    return at_other_stamps(
        files,
        lambda moment: (moment - timedelta(hours=7)).replace(tzinfo=None).isoformat(sep=" ", timespec="milliseconds"),
        names=lambda name: name.endswith(".csv"),
    )


def cut_in_two(files: Files) -> Files:
    """The log as two part-logs, one after the other, each with its header."""
    name = log_of(files)
    head, *rows = files[name].decode().splitlines()
    half = len(rows) // 2
    parts = {
        f"{number}-{name}": ("\n".join([head, *part]) + "\n").encode()
        for number, part in ((1, rows[:half]), (2, rows[half:]))
    }
    return {**parts, **{other: content for other, content in files.items() if other != name}}


def thinned(files: Files, keep: int = 2) -> Files:
    """Every so manieth row of the log."""
    return rewritten(files, lambda rows: [rows[0], *rows[1::keep]])


def at_other_stamps(files: Files, change: Callable[[datetime], str], *, names: Callable[[str], bool]) -> Files:
    """Every ISO stamp of the chosen files changed."""
    return {
        name: STAMP.sub(lambda stamp: change(datetime.fromisoformat(stamp[0])), content.decode()).encode()
        if names(name)
        else content
        for name, content in files.items()
    }


def in_summer_time(files: Files) -> Files:
    """The log's stamps two hours east of Greenwich: the same moments, in other words."""
    return at_other_stamps(
        files,
        lambda moment: f"{(moment + timedelta(hours=2)).replace(tzinfo=None).isoformat(timespec='milliseconds')}+02:00",
        names=lambda name: name.endswith(".csv"),
    )


def later(files: Files) -> Files:
    """Log and track a day, three hours and seven minutes later; an elapsed clock does not begin at 0."""
    moved = at_other_stamps(
        files,
        lambda moment: (moment + timedelta(days=1, hours=3, minutes=7)).isoformat().replace("+00:00", "Z"),
        names=lambda name: name.endswith((".csv", ".gpx")),
    )
    if STAMP.search(files[log_of(files)].decode()):
        return moved

    def change(rows: list[list[str]]) -> list[list[str]]:
        at = next(index for index, name in enumerate(rows[0]) if "time" in name.lower() or "zeit" in name.lower())
        return [rows[0], *([*row[:at], _plus(row[at], 600), *row[at + 1 :]] for row in rows[1:])]

    return rewritten(moved, change)


def _plus(cell: str, seconds: int) -> str:
    if cell.isdecimal():
        return str(int(cell) + seconds)
    moved = f"{float(cell.replace(',', '.')) + seconds:.3f}"
    return moved.replace(".", ",") if "," in cell else moved


def quantities(answer: Answer) -> dict[str, Any]:
    """Every number of an answer by its path, but for what is said of the files."""
    told = {key: value for key, value in answer.to_dict().items() if key not in OF_THE_FILES}
    return {path: value for path, value in _leaves(told) if not path.endswith((".name", ".start"))}


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, part in value.items():
            yield from _leaves(part, f"{path}.{key}")
    elif isinstance(value, list):
        for number, part in enumerate(value):
            yield from _leaves(part, f"{path}[{number}]")
    else:
        yield path, value


def differences(one: Answer, other: Answer, *, rel: float) -> list[str]:
    """The paths at which two answers differ by more than rounding."""
    first, second = quantities(one), quantities(other)
    found = [f"{path}: only in one" for path in sorted(first.keys() ^ second.keys())]
    for path in sorted(first.keys() & second.keys()):
        here, there = first[path], second[path]
        numbers = [isinstance(each, (int, float)) and not isinstance(each, bool) for each in (here, there)]
        if here != (pytest.approx(there, rel=rel, abs=3 * rel) if all(numbers) else there):
            found.append(f"{path}: {here} and {there}")
    return found


SAME: dict[str, tuple[Callable[[Files], Files], float]] = {
    "mA for A": (lambda files: in_other_unit(files, "A", "mA", 1000.0, 0), 1e-9),
    "mph for km/h": (lambda files: in_other_unit(files, "km/h", "mph", 1 / 1.609344, 9), 1e-6),
    "packed": (lambda files: {f"{name}.gz": gzip.compress(content) for name, content in files.items()}, 1e-12),
    "cut in two": (cut_in_two, 1e-6),
    "in another order": (lambda files: dict(reversed(files.items())), 1e-12),
    "in summer time": (in_summer_time, 1e-9),
    "in local time": (in_local_time, 1e-6),
    "later": (later, 1e-6),
    "sign turned": (sign_turned, 1e-9),
    "columns turned round": (lambda files: rewritten(files, lambda rows: [row[::-1] for row in rows]), 1e-12),
    "in UTF-16": (
        lambda files: {**files, log_of(files): files[log_of(files)].decode("utf-8").encode("utf-16")},
        1e-12,
    ),
}


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize("way", SAME)
def test_the_same_ride_told_otherwise_gives_the_same_answer(slug, way):
    """To rounding: nine decimals of a mph are 1e-10 km/h, and what they change is far less than any interval."""
    change, rel = SAME[way]
    assert differences(sample_answer(slug), measured(slug, change(files_of(slug))), rel=rel) == []


@pytest.mark.parametrize(("slug", "keep"), [("commute", 50), ("errand", 10), ("winter", 50), ("no-return", 20)])
def test_a_log_of_a_sample_every_ten_seconds_does_not_say_what_braking_had_available(slug, keep):
    """Stops of 5 s fall between its samples: the errand's 9.7 Wh came out as 0.5 (0.05 to 1.2), all of it missed."""
    answer = measured(slug, thinned(files_of(slug), keep))
    assert answer.sources[0].step_s == pytest.approx(10.0)
    assert (answer.braking.available_wh, answer.braking.captured_pct) == (None, None)
    (why,) = [finding for finding in answer.findings if finding.code == "step-too-long"]
    assert (why.severity, why.facts["available_known"]) == ("warning", False)


@pytest.mark.parametrize("slug", SLUGS)
def test_a_log_thinned_to_every_second_sample_holds_what_the_whole_one_said(slug):
    whole, half = sample_answer(slug), measured(slug, thinned(files_of(slug)))
    for name in ("drawn_wh", "returned_wh", "recovered_pct", "net_wh_per_km"):
        said, told = getattr(whole.energy, name), getattr(half.energy, name)
        assert (said is None) == (told is None), name
        if said is not None:
            assert told.low95 <= said.value <= told.high95, name
