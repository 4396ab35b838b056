"""What the documents promise is there, and what is there is documented; each check is seen to fail on a planted gap."""

import argparse
import ast
import contextlib
import functools
import importlib
import inspect
import io
import re
import shlex
import shutil
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

import ridelog
from ridelog.channels import CHANNELS
from ridelog.cli import main
from ridelog.cli.parser import parser as the_parser
from ridelog.findings import CODES, SEVERITIES, Finding
from ridelog.fleet.history.remarks import CODES as STANDING_OUT
from ridelog.settings.bike import Bike, read_bike
from ridelog.settings.column_map import ColumnEntry, LogSettings, read_map
from ridelog.vocabulary.units import UNITS
from ridelog.vocabulary.words import QUANTITIES
from tests.places import ROOT, SAMPLES

PATHS = (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md")))
TEXTS = {path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8") for path in PATHS}
README = TEXTS["README.md"]
COMMUTE = SAMPLES / "commute"
each_document = pytest.mark.parametrize("name", TEXTS)


def cells(row: str) -> list[str]:
    """The cells of a table's row; a bar inside code is written as ``\\|``."""
    return [cell.strip() for cell in re.split(r"(?<!\\)\|", row.strip())[1:-1]]


def rows_of(text: str) -> list[list[str]]:
    return [cells(line) for line in text.splitlines() if line.startswith("| ") and not line.startswith("| ---")]


def codes_in(text: str) -> list[str]:
    """What stands in code within the text's lines, fenced blocks apart."""
    return re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL))


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)


def section(text: str, heading: str) -> str:
    """What stands under a heading, up to the next one of its level or above."""
    start = text.index(heading)
    level = len(heading) - len(heading.lstrip("#"))
    rest = text[start + len(heading) :]
    end = re.search(rf"^#{{1,{level}}} ", rest, flags=re.MULTILINE)
    return rest[: end.start()] if end else rest


# --- commands and options -------------------------------------------------------------------------


def commands():
    actions = [action for action in the_parser()._actions if isinstance(action, argparse._SubParsersAction)]
    return actions[0].choices


def undocumented_options(readme: str) -> list[str]:
    """Commands and options of the program that the README's table of commands does not name in the command's row."""
    table = {cells(line)[0]: line for line in readme.splitlines() if line.startswith("| `ridelog ")}
    missing = []
    for name, parser in commands().items():
        row = next((line for head, line in table.items() if head.startswith(f"`ridelog {name}")), "")
        named = set(re.findall(r"--[a-z-]+", row))
        options = {option for action in parser._actions for option in action.option_strings} - {"-h", "--help"}
        missing += [f"{name} {option}" for option in sorted(options - named)] if row else [name]
        choices = [choice for action in parser._actions for choice in action.choices or ()]
        missing += [f"{name}: {choice}" for choice in choices if choice not in row]
    return missing


def test_every_command_and_option_is_documented():
    assert undocumented_options(README) == []


@pytest.mark.parametrize("gone", ["`ridelog columns FILE`", "--budget", "`bands`"])
def test_an_undocumented_command_option_or_choice_is_seen(gone):
    assert undocumented_options(README.replace(gone, ""))


def program_lines(text: str) -> list[str]:
    """Every whole call of the program that stands in code, placeholders and all."""
    in_code = [code for code in codes_in(text) if re.match(r"ridelog [a-z]+ ", code)]
    in_blocks = [
        line.removeprefix("$ ").split("  #")[0]
        for block in re.findall(r"^```\w*\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)
        for line in block.splitlines()
        if re.match(r"(\$ )?ridelog [a-z]+", line)
    ]
    return [line.replace("…", "LOG.csv") for line in in_code + in_blocks]


def invalid_calls(text: str) -> list[str]:
    wrong = []
    for line in program_lines(text):
        try:
            the_parser().parse_args(shlex.split(line)[1:])
        except ridelog.errors.UsageError as error:
            wrong.append(f"{line}: {error.message}")
    return wrong


@each_document
def test_every_call_in_a_document_is_one_that_the_program_takes(name):
    assert invalid_calls(TEXTS[name]) == []


def test_a_call_that_the_program_does_not_take_is_seen():
    assert invalid_calls("Then `ridelog measure LOG.csv --colums MAP.toml` shows it.")
    assert invalid_calls("```console\n$ ridelog race FOLDER\n```")


def strange_commands(source: str) -> set[str]:
    """Commands that a message tells people to call and that are none."""
    return set(re.findall(r"`ridelog ([a-z]+)", source)) - set(commands())


def test_every_command_that_a_message_names_is_one():
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "ridelog").rglob("*.py"))
    assert strange_commands(source) == set()


def test_a_message_that_names_another_command_is_seen():
    assert strange_commands('hint="`ridelog race FOLDER` reads many"') == {"race"}


@each_document
def test_every_option_that_a_document_names_is_one(name):
    known = {option for parser in commands().values() for action in parser._actions for option in action.option_strings}
    own = TEXTS[name] if name != "DEVELOPERS.md" else ""  # which names those of other programs as well
    own = re.sub(r"^dask .*$", "", own, flags=re.MULTILINE)
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", own)) - known - {"--version"} == set()


@each_document
def test_every_target_of_make_that_a_document_names_is_one(name):
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), flags=re.MULTILINE))
    in_code = "\n".join([*codes_in(TEXTS[name]), *re.findall(r"^make .*$", TEXTS[name], flags=re.MULTILINE)])
    assert set(re.findall(r"\bmake[ ]([a-z]+)", in_code)) <= targets


# --- what the documents show is what comes out ----------------------------------------------------


def wrong_lines(block: str, folder: Path) -> list[str]:
    """What a session in a terminal shows and the program does not print; ``…`` stands for lines left out."""
    wrong: list[str] = []
    left: list[str] = []
    skipping = False
    for line in block.splitlines():
        if line.startswith("$ cd "):
            folder = folder / line.removeprefix("$ cd ")
        elif line.startswith("$ ridelog "):
            out, err = io.StringIO(), io.StringIO()
            with contextlib.chdir(folder):
                main(shlex.split(line)[2:], out, err)
            left, skipping = [each.rstrip() for each in out.getvalue().splitlines()], False
        elif line == "…":
            skipping = True
        elif skipping and line in left:
            left, skipping = left[left.index(line) + 1 :], False
        elif left[:1] == [line]:
            left = left[1:]
        else:
            wrong.append(line)
    return [*wrong, *(left if not skipping else [])]


def sessions():
    return [(name, block) for name, text in TEXTS.items() for block in blocks(text, "console")]


@pytest.mark.parametrize(("name", "block"), sessions())
def test_what_a_session_shows_is_what_the_program_prints(name, block, monkeypatch):
    monkeypatch.setenv("COLUMNS", "140")
    assert wrong_lines(block, ROOT) == []


def test_a_session_that_shows_something_else_is_seen(monkeypatch):
    monkeypatch.setenv("COLUMNS", "140")
    (block,) = blocks(README, "console")
    share = re.findall(r"\d+\.\d+ %", block)[0]
    assert wrong_lines(block.replace(share, "9.99 %"), ROOT)


def test_the_readme_shows_a_session():
    assert blocks(README, "console")


@pytest.mark.parametrize(
    ("name", "block"), [(name, block) for name, text in TEXTS.items() for block in blocks(text, "python")]
)
def test_the_python_examples_run(name, block, monkeypatch, tmp_path):
    """In a copy of the sample ride's folder: an example that writes a file must leave none among the samples."""
    monkeypatch.chdir(shutil.copytree(COMMUTE, tmp_path / "commute"))
    exec(compile(block, name, "exec"), {})


def is_map(block: str) -> bool:
    return bool(re.search(r"^\[log\]|^\[\[column\]\]|^column\s*=", block, flags=re.MULTILINE))


@pytest.mark.parametrize(
    ("name", "block"), [(name, block) for name, text in TEXTS.items() for block in blocks(text, "toml")]
)
def test_the_toml_examples_are_read(name, block):
    (read_map if is_map(block) else read_bike)(io.BytesIO(block.encode()))


# --- the bike file --------------------------------------------------------------------------------

BIKE = TEXTS["docs/bike.md"]


def bike_keys():
    return [
        (name, key, info)
        for name, part in Bike.model_fields.items()
        for key, info in part.annotation.model_fields.items()
    ]


def bounds_of(info) -> list[float]:
    held = (getattr(item, name, None) for name in ("ge", "le") for item in info.metadata)
    return [float(bound) for bound in held if bound is not None]


def bike_gaps(text: str) -> list[str]:
    """Keys of the bike file that the document lacks, or gives another range."""
    gaps = []
    for name, key, info in bike_keys():
        heading = re.search(rf"^## `\[{name}\]`.*$", text, flags=re.MULTILINE)
        rows = rows_of(section(text, heading[0])) if heading else []
        row = next((row for row in rows if row[0] == f"`{key}`"), None)
        if row is None:
            gaps.append(f"[{name}] {key} is not there")
            continue
        bounds = bounds_of(info)
        if bounds and [float(number) for number in re.findall(r"-?[\d.]+", row[2])] != bounds:
            gaps.append(f"[{name}] {key} ranges from {bounds[0]:g} to {bounds[1]:g}, not {row[2]}")
        choices = re.findall(r"'([a-z-]+)'", str(info.annotation)) if "Literal" in str(info.annotation) else []
        gaps += [f"[{name}] {key}: {choice} is not there" for choice in choices if f'"{choice}"' not in row[2]]
    return gaps


def test_every_key_of_the_bike_file_is_documented_with_its_range():
    assert bike_gaps(BIKE) == []


@pytest.mark.parametrize(
    ("there", "instead"), [("`crr_limit`", "`crr`"), ("30 to 600", "30 to 60"), ('"mid-drive"', "")]
)
def test_a_key_of_the_bike_file_that_is_not_documented_is_seen(there, instead):
    assert bike_gaps(BIKE.replace(there, instead))


def test_the_bike_files_document_names_no_key_that_is_none():
    known = {key for _, key, _ in bike_keys()}
    tables = BIKE.split("## A full example")[0]
    assert {codes_in(row[0])[0] for row in rows_of(tables) if codes_in(row[0])} - known == set()


def test_the_full_example_sets_every_key_of_the_bike_file():
    (example,) = blocks(BIKE, "toml")
    bike = read_bike(io.BytesIO(example.encode()))
    unset = [key for name, key, _ in bike_keys() if key not in getattr(bike, name).model_fields_set]
    assert unset == []


def test_the_bike_files_document_says_what_is_assumed():
    from ridelog.analysis.electrical.sensor import DEFAULT_LIMITS
    from ridelog.analysis.road.load import DEFAULTS

    without = {codes_in(row[0])[0]: row[3] for row in rows_of(BIKE) if len(row) == 5 and codes_in(row[0])}
    said = {key.split(".")[1]: f"{value:g} ± {limit:g}" for key, (value, limit) in DEFAULTS.items()}
    said["air_pressure_hpa"] = f"± {DEFAULTS['road.air_pressure_hpa'][1]:g}"
    said |= {key: f"{limit:g}" for key, limit in DEFAULT_LIMITS.items()}
    assert {key: words for key, words in said.items() if words not in without[key]} == {}


# --- columns, quantities, units, channels ---------------------------------------------------------

FILES = TEXTS["docs/files.md"]


def column_gaps(text: str) -> list[str]:
    """Keys of the column map, quantities and units that the document lacks."""
    named = {code for row in rows_of(section(text, "## The column map")) for code in codes_in(row[0])}
    gaps = [key for model in (LogSettings, ColumnEntry) for key in model.model_fields if key not in named]
    table = rows_of(section(text, "## Quantities and units"))
    words = {code for row in table for code in codes_in(row[0])}
    gaps += [quantity for quantity in QUANTITIES if quantity not in words]
    units = {code: row[1] for row in table for code in codes_in(row[0])}
    for quantity in QUANTITIES.values():
        known = dict.fromkeys(unit.name for unit in UNITS.values() if unit.dimension in quantity.dimensions)
        stated = re.split(r", (?:or )?", units.get(quantity.name, ""))
        gaps += [f"{quantity.name} in {unit}" for unit in known if unit not in stated]
    return gaps


def test_every_key_of_the_column_map_every_quantity_and_every_unit_is_documented():
    assert column_gaps(FILES) == []


@pytest.mark.parametrize(("there", "instead"), [("`date_order`", "`date`"), ("`rider power`", ""), ("ft/s, ", "")])
def test_a_key_a_quantity_or_a_unit_that_is_not_documented_is_seen(there, instead):
    assert column_gaps(FILES.replace(there, instead))


def test_the_examples_of_the_column_map_set_every_key():
    maps = [read_map(io.BytesIO(block.encode())) for block in blocks(FILES, "toml")]
    log = set().union(*(each.log.model_fields_set for each in maps))
    column = set().union(*(entry.model_fields_set for each in maps for entry in each.column))
    assert log == set(LogSettings.model_fields)
    assert column == set(ColumnEntry.model_fields)


@pytest.mark.parametrize("header", sorted(set(codes_in(" ".join(row[2] for row in rows_of(
    section(FILES, "## Quantities and units"))))) - {"wheel_circumference_m"}))  # fmt: skip
def test_every_header_that_is_given_as_an_example_is_understood_so(header):
    from ridelog.vocabulary.headers import understand

    table = rows_of(section(FILES, "## Quantities and units"))
    wanted = {code for row in table if header in codes_in(row[2]) for code in codes_in(row[0])}
    found = understand(header).quantity or ""
    assert found in wanted or (found.startswith("cell voltage") and "cell voltage 1" in wanted), found


def channel_gaps(text: str, series: set[str]) -> set[str]:
    """Columns that a ride's series can have and the document lacks, and columns that it names and that are none."""
    named = {code for row in rows_of(text) if len(row) == 3 for code in codes_in(row[0])}
    named = {name for name in named if re.fullmatch(r"\w+", name)}
    known = set(CHANNELS) | {name for name in series | named if re.fullmatch(r"cell_\d\d_v", name)} | series
    return named ^ known


@pytest.fixture(scope="module")
def commute():
    ride = ridelog.load_ride([COMMUTE / "controller.csv", COMMUTE / "track.gpx"], bike=COMMUTE / "bike.toml")
    return ridelog.measure(ride)


def test_every_column_of_a_rides_series_is_documented(commute):
    assert channel_gaps(TEXTS["docs/python.md"], set(commute.series)) == set()


@pytest.mark.parametrize("gone", ["`throttle_ratio`", "`grade_pct`", "`cell_01_v`, `cell_02_v`"])
def test_a_column_that_is_not_documented_is_seen(gone, commute):
    without = TEXTS["docs/python.md"].replace(gone, "")
    assert channel_gaps(without, set(commute.series) | {"cell_01_v"})


# --- findings -------------------------------------------------------------------------------------

FINDINGS = TEXTS["docs/findings.md"]


@functools.cache
def severities_used() -> dict[str, set[str]]:
    """What severities the code gives to each finding, as far as they are written where it is made."""
    used: dict[str, set[str]] = {}
    for path in (ROOT / "ridelog").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and len(node.args) > 1 and isinstance(node.args[0], ast.Constant)):
                continue
            if node.args[0].value in CODES:
                words = {each.value for each in ast.walk(node.args[1]) if isinstance(each, ast.Constant)}
                used.setdefault(node.args[0].value, set()).update(words & set(SEVERITIES))
    return used


def finding_gaps(text: str) -> list[str]:
    """Codes that the document lacks or that are none, and severities that the code gives and it does not."""
    table = {codes_in(row[0])[0]: row for row in rows_of(text) if len(row) == 4 and codes_in(row[0])}
    gaps = sorted(set(table) ^ set(CODES))
    for code, row in table.items():
        said = set(row[1].split(", "))
        if not said or not said <= set(SEVERITIES) or not all(row[2:]):
            gaps.append(f"{code} lacks its severity, its meaning or what to do")
        gaps += [f"{code} may be a {severity}" for severity in severities_used().get(code, set()) - said]
    return gaps


def test_every_finding_is_documented_with_its_severities():
    assert finding_gaps(FINDINGS) == []


@pytest.mark.parametrize(
    ("there", "instead"),
    [("| `gaps` |", "| gaps |"), ("`no-speed` | note, warning", "`no-speed` | note"), ("| danger |", "| |")],
)
def test_a_finding_that_is_not_documented_is_seen(there, instead):
    assert finding_gaps(FINDINGS.replace(there, instead))


def test_every_finding_code_is_used_somewhere():
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (ROOT / "ridelog").rglob("*.py")
        if not path.relative_to(ROOT).as_posix().startswith(("ridelog/findings.py", "ridelog/tell/findings/"))
    )
    assert [code for code in CODES if f'"{code}"' not in source] == []


def test_a_finding_with_an_unknown_code_cannot_be_made():
    with pytest.raises(ValueError, match="is no code of a finding"):
        Finding("something-else", "note")


@each_document
def test_every_code_of_a_finding_that_a_document_names_is_one(name):
    others = {"direct-drive", "geared-locked", "geared-freewheel", "mid-drive", "no-return", "day-month-year"}
    others |= {"first-higher", "second-higher", "not-told"}  # verdicts of a comparison
    kebab = {code for code in codes_in(TEXTS[name]) if re.fullmatch(r"[a-z]+(-[a-z]+)+", code)}
    assert kebab - set(CODES) - set(STANDING_OUT) - others == set()


# --- thresholds -----------------------------------------------------------------------------------


def threshold_tables(text: str) -> list[tuple[str, dict[str, str]]]:
    """Each table headed ``Thresholds: `where` ``, as a name and its values in words."""
    found = re.findall(r"^Thresholds: `([\w.]+)`\n\n((?:\|.*\n)+)", text, flags=re.MULTILINE)
    return [
        (where, {codes_in(row[0])[0]: row[1] for row in rows_of(table) if codes_in(row[0])}) for where, table in found
    ]


def looked_up(where: str) -> tuple[dict[str, object], bool]:
    """Values by name of a settings class, a mapping or a module, and whether all of them belong in the table.

    Keywords of a module's functions are called ``function.keyword``.
    """
    try:
        held = importlib.import_module(where)
    except ModuleNotFoundError:
        module, _, name = where.rpartition(".")
        held = getattr(importlib.import_module(module), name)
    if is_dataclass(held):
        return {field.name: field.default for field in fields(held)}, True
    if isinstance(held, Mapping):
        return dict(held), True
    keywords = {
        f"{function}.{name}": keyword.default
        for function, each in vars(held).items()
        if inspect.isfunction(each)
        for name, keyword in inspect.signature(each).parameters.items()
        if keyword.kind is keyword.KEYWORD_ONLY
    }
    return vars(held) | keywords, False


def in_words(value: object) -> list[float]:
    return [float(part) for part in value] if isinstance(value, tuple) else [float(str(value))]


def threshold_gaps(where: str, table: dict[str, str]) -> list[str]:
    held, whole = looked_up(where)
    gaps = [f"{where}: {name} is not there" for name in held if whole and name not in table]
    for name, words in table.items():
        if name not in held:
            gaps.append(f"{where} has no {name}")
        elif [float(number) for number in re.findall(r"-?[\d.]+", words)] != in_words(held[name]):
            gaps.append(f"{where}: {name} is {held[name]}, not {words}")
    return gaps


TABLES = [entry for text in TEXTS.values() for entry in threshold_tables(text)]


@pytest.mark.parametrize(("where", "table"), TABLES, ids=[where for where, _ in TABLES])
def test_the_thresholds_are_those_of_the_code(where, table):
    assert threshold_gaps(where, table) == []


def test_a_threshold_that_is_missing_or_another_is_seen():
    where, table = next(entry for entry in TABLES if entry[0].endswith("BrakingSettings"))
    assert threshold_gaps(where, {**table, "merge_s": "2.5"})
    assert threshold_gaps(where, {name: words for name, words in table.items() if name != "merge_s"})


def uncited(method: str) -> set[str]:
    """What the code cites by its number and the method's list of sources does not."""
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "ridelog").rglob("*.py"))
    pattern = r"\b10\.\d{4,}/[\w./-]*\w"
    return set(re.findall(pattern, source)) - set(re.findall(pattern, section(method, "## Sources")))


def test_every_publication_that_the_code_cites_is_among_the_sources():
    assert uncited(TEXTS["docs/method.md"]) == set()


def test_a_publication_that_is_not_among_the_sources_is_seen():
    assert uncited(TEXTS["docs/method.md"].replace("10.1007/s00190", ""))


# --- links, names, form ---------------------------------------------------------------------------


def anchors(text: str) -> set[str]:
    """The anchors of a document's headings, as they are made from them: lower case, hyphens, no marks."""
    heads = re.findall(r"^#+ (.+)$", re.sub(r"```.*?```", "", text, flags=re.DOTALL), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def broken_links(name: str, text: str) -> list[str]:
    broken = []
    for target in re.findall(r"\]\(([^)]+)\)", text):
        if re.match(r"https?://", target):
            continue
        path, _, anchor = target.partition("#")
        file = (ROOT / name).parent / path if path else ROOT / name
        inside = file.exists() and file.resolve().is_relative_to(ROOT)
        heads = anchors(file.read_text(encoding="utf-8")) if inside and file.suffix == ".md" and path else anchors(text)
        if not inside or (anchor and anchor not in heads):
            broken.append(target)
    return broken


@each_document
def test_every_link_leads_somewhere(name):
    assert broken_links(name, TEXTS[name]) == []


@pytest.mark.parametrize("target", ["docs/nothing.md", "docs/method.md#nothing", "#nothing", "../README.md"])
def test_a_link_that_leads_nowhere_is_seen(target):
    assert broken_links("README.md", f"See [there]({target}).") == [target]


def test_every_document_can_be_reached_from_the_readme():
    linked = {target.partition("#")[0] for target in re.findall(r"\]\(([^)]+)\)", README)}
    assert set(TEXTS) - linked - {"README.md"} == set()


def missing_paths(text: str) -> list[str]:
    """Files and folders of this repository that code in the text names and that are not there."""
    named = [
        code
        for code in codes_in(text)
        if re.fullmatch(r"(ridelog|tests|sample_rides|docs|requirements)/[\w./-]*", code)
    ]
    return [path for path in named if not (ROOT / path).exists()]


@each_document
def test_every_path_that_a_document_names_is_there(name):
    assert missing_paths(TEXTS[name]) == []


def test_a_path_that_is_not_there_is_seen():
    assert missing_paths("It lives in `ridelog/analysis/nothing.py`.") == ["ridelog/analysis/nothing.py"]


def test_the_readme_is_short():
    assert len(README.splitlines()) < 150


def test_the_readme_opens_with_one_paragraph_that_states_the_job():
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# ridelog"
    assert paragraph.startswith("**ridelog tells you")


def test_the_changelog_knows_this_version():
    assert f"## {ridelog.__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_every_room_of_the_house_is_drawn():
    from tests.test_architecture import FLOORS

    drawn = re.findall(r"^```\n(.*?)^```$", section(TEXTS["DEVELOPERS.md"], "## The house"), re.MULTILINE | re.DOTALL)
    words = set(re.findall(r"[\w.]+", " ".join(drawn)))
    assert {room for floor in FLOORS for room in floor} - words == set()
