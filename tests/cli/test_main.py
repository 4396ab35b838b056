"""The command line, driven whole: arguments in, streams and exit status out."""

import csv
import gc
import importlib
import io
import json
import os
import subprocess
import sys

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from tests.places import ROOT

COMMUTE = ROOT / "sample_rides" / "commute"
main_module = importlib.import_module("ridelog.cli.main")  # the name in the package is the function


def ridelog(*arguments):
    out, err = io.StringIO(), io.StringIO()
    status = main([str(argument) for argument in arguments], out, err)
    return status, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def commute_files():
    return sorted(path for path in COMMUTE.iterdir() if path.suffix in (".csv", ".gpx", ".fit"))


@pytest.fixture(scope="module")
def commute_json(commute_files):
    status, out, err = ridelog("measure", *commute_files, "--bike", COMMUTE / "bike.toml", "--json")
    assert (status, err) == (Exit.OK, "")
    return json.loads(out)


def test_json_holds_exactly_the_keys_of_the_contract(commute_json):
    assert list(commute_json) == [
        "schema", "ridelog", "settings", "bike", "ride", "sources", "charge", "energy", "braking", "hills",
        "hill_pairs", "pack", "findings", "ledger", "speed_bands", "budget", "worth", "shared_errors",
    ]  # fmt: skip
    assert set(commute_json["ride"]) == {
        "name",
        "start",
        "duration_s",
        "moving_s",
        "distance_m",
        "ascent_m",
        "descent_m",
        "ends_lower_m",
        "height_covered_pct",
        "time_zone",
    }
    assert set(commute_json["energy"]) == {
        "drawn_wh", "returned_wh", "recovered_pct", "net_wh_per_km", "distance_gained_m",
        "descents_share_of_returned_pct",
    }  # fmt: skip
    assert set(commute_json["charge"]) == {"drawn_ah", "returned_ah", "recovered_pct"}
    assert set(commute_json["pack"]) == {
        "resistance_ohm", "highest_cell_v", "highest_charge_a", "start_charge_headroom_ah",
    }  # fmt: skip
    assert set(commute_json["sources"][0]) == {
        "path", "sha256", "format", "role", "start", "end", "samples", "step_s", "covered_pct", "clock_offset_s",
        "clock_drift_ppm", "columns",
    }  # fmt: skip
    assert set(commute_json["braking"]["events"][0]) == {
        "start_s", "end_s", "kind", "start_speed_mps", "end_speed_mps", "drop_m", "returned_ah", "returned_wh",
        "available_wh", "captured_pct",
    }  # fmt: skip
    assert set(commute_json["hills"][0]) == {
        "id", "name", "direction", "start_s", "end_s", "start_m", "end_m", "length_m", "height_m", "mean_grade_pct",
        "drawn_wh", "returned_wh", "recovered_pct", "available_wh", "captured_pct",
        "number", "start", "end", "share_of_returned_pct",
    }  # fmt: skip
    assert set(commute_json["findings"][0]) == {"code", "severity", "message", "facts", "start_s", "end_s"}
    assert set(commute_json["energy"]["recovered_pct"]) == {"value", "low95", "high95"}


def test_the_summary_begins_with_the_answer(commute_files, commute_json):
    status, out, _ = ridelog("measure", *commute_files, "--bike", COMMUTE / "bike.toml")
    assert status is Exit.OK
    first = out.splitlines()[0]
    assert first.startswith("Of ")
    assert "Wh came back: " in first
    assert f"{commute_json['energy']['recovered_pct']['value']:.2f}" in first


@pytest.mark.parametrize(("table", "least_rows"), [("hills", 6), ("events", 6), ("samples", 3000)])
def test_a_table_goes_to_a_pipe_as_csv(commute_files, table, least_rows):
    status, out, _ = ridelog("measure", *commute_files, "--table", table)
    rows = list(csv.reader(io.StringIO(out)))
    assert status is Exit.OK
    assert len(rows) > least_rows
    assert {len(row) for row in rows} == {len(rows[0])}


def test_output_goes_to_the_file_that_is_named(commute_files, tmp_path):
    target = tmp_path / "answer.json"
    status, out, _ = ridelog("measure", *commute_files, "--json", "--output", target)
    assert (status, out) == (Exit.OK, "")
    assert json.loads(target.read_text(encoding="utf-8"))["schema"] == 2


def test_an_output_that_cannot_be_written_is_one_line(commute_files, tmp_path):
    status, _, err = ridelog("measure", *commute_files, "--json", "--output", tmp_path / "none" / "a.json")
    assert status is Exit.UNREADABLE
    assert err.splitlines() == [
        f"{tmp_path}/none/a.json: cannot be written: there is no folder {tmp_path}/none",
        "hint: name a file in a folder that exists and that you may write to",
    ]


@pytest.mark.parametrize("linked", [False, True])
@pytest.mark.parametrize("arguments", [("measure", "LOG", "--output"), ("columns", "LOG", "--write")])
def test_a_log_is_never_replaced_by_what_was_made_of_it(arguments, linked, tmp_path):
    """A file that is read cannot be named as the one to write, not even by another name of it."""
    log, target = tmp_path / "ride.csv", tmp_path / ("same.csv" if linked else "ride.csv")
    log.write_text("time [s],battery current [A]\n0,1\n1,-1\n", encoding="utf-8")
    if linked:
        target.symlink_to(log)
    before = log.read_bytes()
    status, out, err = ridelog(*(log if word == "LOG" else word for word in arguments), target)
    assert (status, out, log.read_bytes()) == (Exit.USAGE, "", before)
    assert err.splitlines() == [
        f"{arguments[-1]} {target}: this file is being read and would be overwritten",
        "hint: name another file to write",
    ]


@pytest.mark.parametrize("arguments", [("measure", "LOG", "--output"), ("columns", "LOG", "--write")])
def test_a_file_that_is_there_is_replaced_only_by_force(arguments, tmp_path):
    log, target = tmp_path / "ride.csv", tmp_path / "kept.txt"
    rows = "".join(f"{t},{t % 3 - 1}\n" for t in range(60))
    log.write_text(f"time [s],battery current [A]\n{rows}", encoding="utf-8")
    target.write_text("mine", encoding="utf-8")
    call = [*(log if word == "LOG" else word for word in arguments), target]
    status, out, err = ridelog(*call)
    assert (status, out, target.read_text(encoding="utf-8")) == (Exit.USAGE, "", "mine")
    assert err.splitlines() == [
        f"{arguments[-1]} {target}: this file exists already",
        "hint: name another file, or add --force",
    ]
    assert ridelog(*call, "--force")[0] is Exit.OK
    assert target.read_text(encoding="utf-8") not in ("", "mine")


def test_force_does_not_replace_the_log_itself(tmp_path):
    log = tmp_path / "ride.csv"
    log.write_text("time [s],battery current [A]\n0,1\n1,-1\n", encoding="utf-8")
    before = log.read_bytes()
    assert ridelog("measure", log, "--output", log, "--force")[0] is Exit.USAGE
    assert log.read_bytes() == before


def test_what_is_no_plain_file_needs_no_force(commute_files):
    """A pipe or a device holds nothing that could be lost."""
    assert ridelog("measure", commute_files[0], "--output", os.devnull)[0] is Exit.OK


def test_a_bike_file_and_a_column_map_among_the_logs_are_taken_as_such(commute_files, commute_json, tmp_path):
    """In any place, as the page takes them."""
    column_map = tmp_path / "MAP.TOML"
    assert ridelog("columns", COMMUTE / "controller.csv", "--write", column_map)[0] is Exit.OK
    bike = COMMUTE / "bike.toml"
    assert json.loads(ridelog("measure", bike, *commute_files, "--json")[1]) == commute_json
    mixed = ridelog("measure", commute_files[0], column_map, *commute_files[1:], bike, "--json")[1]
    options = ridelog("measure", *commute_files, "--bike", bike, "--columns", column_map, "--json")[1]
    assert mixed == options


@pytest.mark.parametrize(
    ("words", "status", "first_line"),
    [
        (("bike.toml", "--bike", "bike.toml"), Exit.USAGE, "bike.toml: is a second bike file, beside bike.toml"),
        (("map.toml", "--columns", "x"), Exit.USAGE, "map.toml: is a second column map, beside x"),
        (("none.toml",), Exit.UNREADABLE, "none.toml: no such file or directory"),
        (("broken.toml",), Exit.UNREADABLE, "broken.toml: is not TOML: "),
    ],
)
def test_a_doubled_or_broken_toml_file_among_the_logs_is_told(words, status, first_line, tmp_path, monkeypatch):
    for name, text in (("bike", '[bike]\nname = "x"\n'), ("map", "[log]\n"), ("broken", "[bike\n")):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    for command in ("measure", "coastdown"):
        got, out, err = ridelog(command, COMMUTE / "controller.csv", *words)
        assert (got, out) == (status, "")
        assert err.startswith(first_line)
        assert len(err.splitlines()) == 2


def test_a_bike_file_alone_is_no_ride():
    assert ridelog("measure", COMMUTE / "bike.toml")[2].startswith("no recording was given\n")


@pytest.mark.parametrize("form", [(), ("--json",), ("--table", "hills")])
def test_a_terminal_without_the_letters_gets_the_answer_all_the_same(form, tmp_path, commute_files):
    """A stream of ASCII ends no command: other letters are escaped, and JSON stays JSON."""
    log = tmp_path / "Fährte.csv"
    log.write_bytes(commute_files[0].read_bytes())
    done = subprocess.run(
        [sys.executable, "-m", "ridelog", "measure", log, *form],
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (Exit.OK, b"")
    assert done.stdout.isascii()
    if form == ("--json",):
        assert json.loads(done.stdout)["ride"]["name"] == "Fährte"


def test_a_name_that_would_disturb_the_terminal_keeps_to_one_line(tmp_path):
    status, _, err = ridelog("measure", COMMUTE / "controller.csv", "--bike", f"{tmp_path}/a\n\x1bb.toml")
    assert status is Exit.UNREADABLE
    assert err.splitlines() == [
        f"{tmp_path}/a��b.toml: no such file or directory",
        "hint: --bike takes a TOML file; is the name spelled right?",
    ]


def test_an_empty_name_is_told_from_a_folder():
    """An unset variable in a script gives an empty name, which must not read as the folder one stands in."""
    assert ridelog("measure", "")[2].startswith("FILE: an empty name was given\n")


@pytest.mark.parametrize(
    "arguments",
    [(), ("measure",), ("measur", "a.csv"), ("measure", "a.csv", "--json", "--table", "hills"), ("measure", "a", "--x"),
     ("measure", "a.csv", "--table", "rides"), ("serve", "--port", "99999"), ("serve", "--port", "x")],
)  # fmt: skip
def test_a_wrong_call_is_an_error_of_two_lines_and_status_2(arguments):
    status, out, err = ridelog(*arguments)
    assert (status, out) == (Exit.USAGE, "")
    assert len(err.splitlines()) == 2
    assert err.splitlines()[1].startswith("hint: ")


def test_a_missing_file_is_status_3_and_one_line(tmp_path):
    status, out, err = ridelog("measure", tmp_path / "none.csv")
    assert (status, out) == (Exit.UNREADABLE, "")
    assert err.startswith(f"{tmp_path}/none.csv: ")
    assert "Traceback" not in err


def test_a_wrong_bike_file_is_named_with_its_line(commute_files, tmp_path):
    bike = tmp_path / "bike.toml"
    bike.write_text("[road]\ncrr = 5\n", encoding="utf-8")
    status, _, err = ridelog("measure", *commute_files, "--bike", bike)
    assert status is Exit.UNREADABLE
    assert err.splitlines()[0] == f"{bike}, line 2: road.crr = 5: a number from 0.001 to 0.1 is allowed"


def test_columns_shows_every_column_with_its_reason_and_writes_a_map_that_changes_nothing(commute_files, tmp_path):
    log = next(path for path in commute_files if path.suffix == ".csv")
    target = tmp_path / "map.toml"
    status, out, _ = ridelog("columns", log, "--write", target)
    assert status is Exit.OK
    assert "battery current" in out
    plain = ridelog("measure", *commute_files, "--json")[1]
    mapped = ridelog("measure", *commute_files, "--columns", target, "--json")[1]
    assert json.loads(plain)["energy"] == json.loads(mapped)["energy"]


def test_columns_names_what_the_map_says_of_columns_that_are_not_there(commute_files, tmp_path):
    """A header mistyped in the map that is being tried: its reading is shown without it, and told so."""
    log = next(path for path in commute_files if path.suffix == ".csv")
    target = tmp_path / "map.toml"
    target.write_text('[[column]]\nheader = "curent"\nquantity = "battery current"\nunit = "A"\n', encoding="utf-8")
    status, out, err = ridelog("columns", log, "--columns", target)
    assert status is Exit.OK
    assert "battery current" in out
    assert err == f"note: no column here is headed 'curent', as {target} has it\n"


def test_columns_of_a_track_shows_its_elements(commute_files):
    track = next(path for path in commute_files if path.suffix == ".gpx")
    status, out, err = ridelog("columns", track)
    assert (status, err) == (Exit.OK, "")
    assert "an element of GPX" in out


def test_help_and_version_need_no_heavy_module():
    """What a command-line user waits for: neither numbers nor page are loaded to print a help text."""
    code = (
        "import io, sys; from ridelog.cli import main\n"
        "for words in (['--help'], ['--version'], ['measure', '--help'], ['columns', '--help'], ['serve', '--help']):\n"
        "    assert main(words, io.StringIO(), sys.stderr) == 0\n"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert not loaded & {"numpy", "pandas", "scipy", "dash", "plotly", "pyarrow", "rich", "pydantic", "flask"}


def test_columns_needs_no_page_and_no_geodesy(commute_files):
    log = next(path for path in commute_files if path.suffix == ".csv")
    code = (
        "import io, sys; from ridelog.cli import main\n"
        f"assert main(['columns', {str(log)!r}], io.StringIO(), sys.stderr) == 0\n"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(done.stdout.split()) & {"scipy", "dash", "plotly", "pyproj", "gpxpy", "fitdecode", "flask"}


def test_the_command_runs_as_a_module_and_ends_quietly_when_its_reader_has_gone(commute_files):
    command = [sys.executable, "-m", "ridelog", "measure", *map(str, commute_files), "--table", "samples"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    process.stdout.read(10)
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait() == 0
    assert err == b""


def test_an_interrupt_is_status_130(monkeypatch, commute_files):
    def interrupted(*_args, **_kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("ridelog.timeline.ride.load_ride", interrupted)
    status, _, err = ridelog("measure", *commute_files)
    assert (status, err) == (Exit.INTERRUPTED, "interrupted\n")


def test_colour_and_spinner_stay_out_of_a_pipe(commute_files):
    environment = {**os.environ, "FORCE_COLOR": ""}
    done = subprocess.run(
        [sys.executable, "-m", "ridelog", "measure", *map(str, commute_files)],
        capture_output=True, check=True, env=environment,
    )  # fmt: skip
    assert b"\x1b" not in done.stdout + done.stderr


def test_a_fault_of_ridelog_itself_is_told_in_one_line_and_a_hint(monkeypatch, commute_files):
    def broken(*_args, **_kwargs):
        raise ZeroDivisionError("division by zero")

    monkeypatch.delenv("RIDELOG_TRACEBACK", raising=False)
    monkeypatch.setattr("ridelog.timeline.ride.load_ride", broken)
    status, out, err = ridelog("measure", *commute_files)
    assert (status, out) == (Exit.UNREADABLE, "")
    assert err.splitlines()[0] == "ridelog failed where it should not: ZeroDivisionError: division by zero"
    monkeypatch.setenv("RIDELOG_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        ridelog("measure", *commute_files)


def test_the_budget_names_each_source_and_what_would_shrink_the_largest(commute_files):
    status, out, _ = ridelog("measure", *commute_files, "--bike", COMMUTE / "bike.toml", "--budget")
    assert status is Exit.OK
    largest = "The largest part is that of current zero. To shrink it, let"
    for words in ("current zero", "charge against discharge gain", "sampling and noise", largest):
        assert words in out


def test_a_ride_without_a_share_has_no_budget(commute_files):
    track = next(path for path in commute_files if path.suffix == ".gpx")
    assert "There is no recovered share" in ridelog("measure", track, "--budget")[1]


def test_an_option_that_a_command_does_not_have_points_to_that_commands_help():
    status, _, err = ridelog("measure", "a.csv", "--no-such-option")
    assert status == 2
    assert err.splitlines() == [
        "unrecognized arguments: --no-such-option",
        "hint: `ridelog measure --help` shows what there is",
    ]


def test_an_empty_name_to_write_to_is_refused_before_anything_is_read():
    status, _, err = ridelog("measure", "no-such.csv", "--output", "")
    assert status == 2
    assert err.splitlines()[0] == "--output: an empty name was given"


SWAPPED = "were --bike and --columns swapped?"


def test_swapped_options_are_told(tmp_path):
    bike, columns = tmp_path / "bike.toml", tmp_path / "map.toml"
    bike.write_text("[bike]\ntotal_mass_kg = 100\n")
    columns.write_text("[log]\nsigned = true\n")
    status, _, err = ridelog("measure", "no-such.csv", "--bike", str(columns))
    assert (status, err.splitlines()[1]) == (3, f"hint: this looks like a column map, which --columns takes; {SWAPPED}")
    status, _, err = ridelog("measure", "no-such.csv", "--columns", str(bike))
    assert (status, err.splitlines()[1]) == (3, f"hint: this looks like a bike file, which --bike takes; {SWAPPED}")


@pytest.mark.parametrize("option", ["--bike", "--columns"])
def test_an_empty_name_of_a_table_is_told_with_its_option(option):
    assert ridelog("measure", "no-such.csv", option, "") == (
        Exit.UNREADABLE,
        "",
        f"{option}: an empty name was given\nhint: is a variable of the command line not set?\n",
    )


def test_a_name_to_write_to_that_no_file_can_have_is_no_fault_of_ours(tmp_path):
    log = tmp_path / "ride.csv"
    log.write_text("time [s],battery current [A]\n0,1\n1,-1\n", encoding="utf-8")
    status, out, err = ridelog("measure", log, "--output", "a\0b")
    assert (status, out) == (Exit.UNREADABLE, "")
    assert err == "a�b: cannot be written: the name of a file cannot hold a null character\n"


@pytest.mark.parametrize(
    ("header", "rows", "why"),
    [
        ("battery current [A]", ["5"], "holds only one value, and it takes at least two"),
        ("battery current [A]", ["nan"] * 60, "holds no values"),
        ("battery power [W]", [""] * 60, "holds no values"),
        ("battery current [A]", [*["nan"] * 30, "5", *["nan"] * 30], "holds only one value, and it takes at least two"),
        ("I1", ["nan"] * 60, "holds no values"),
    ],
)
def test_a_log_that_holds_too_little_current_is_told_from_one_without(tmp_path, header, rows, why):
    log, columns = tmp_path / "ride.csv", tmp_path / "map.toml"
    written = "".join(f"{t},{row},{20 + t % 3}\n" for t, row in enumerate(rows))
    log.write_text(f"time [s],{header},speed [km/h]\n{written}", encoding="utf-8")
    columns.write_text('[[column]]\nheader = "I1"\nquantity = "battery current"\nunit = "A"\n')
    status, out, _ = ridelog("measure", log, *(["--columns", columns] if header == "I1" else []))
    assert status is Exit.OK
    assert "no file holds battery current" not in " ".join(out.lower().split())
    assert " ".join(out.split()).startswith(
        f"We cannot say what was drawn and what came back: the column “{header}” in ride.csv {why}."
    )


@pytest.mark.parametrize(
    ("command", "option"), [("measure", "--output"), ("columns", "--write"), ("coastdown", "--write")]
)
def test_an_empty_name_to_write_to_is_refused_by_every_command(command, option):
    status, _, err = ridelog(command, "no-such.csv", option, "")
    assert (status, err.splitlines()[0]) == (2, f"{option}: an empty name was given")


def test_a_map_that_gives_a_column_another_quantity_than_its_unit_measures_can_be_written_again(tmp_path):
    log, columns, again = tmp_path / "a.csv", tmp_path / "map.toml", tmp_path / "again.toml"
    log.write_text("time (s),battery current (A)\n" + "".join(f"{k},{k % 7}\n" for k in range(30)))
    columns.write_text('column = [{ header = "battery current (A)", quantity = "battery power" }]\n')
    status, _, err = ridelog("columns", log, "--columns", columns, "--write", again)
    assert (status, err.splitlines()[-1]) == (0, f"wrote {again}")


@pytest.mark.parametrize(("is_of_many", "expected"), [(False, False), (True, True)])
def test_cycles_of_objects_are_looked_for_where_many_rides_may_be_measured(monkeypatch, is_of_many, expected):
    """The program is begun without looking for them; what `main` changes of that it puts back."""
    looked = []

    def command(arguments, out, err):
        looked.append(gc.isenabled())
        return Exit.OK

    monkeypatch.setitem(main_module.COMMANDS, "columns", command)
    monkeypatch.setattr(main_module, "OWN_BOUNDS", (command,) if is_of_many else ())
    gc.disable()
    try:
        assert ridelog("columns", "log.csv") == (Exit.OK, "", "")
        assert not gc.isenabled()
    finally:
        gc.enable()
    assert looked == [expected]


LONG = 300 * "c"  # longer than a name of a file can be; what asks whether it is there is told that by an error


@pytest.mark.parametrize(
    "arguments",
    [
        ["measure", LONG],
        ["measure", "LOG", "--bike", LONG],
        ["measure", "LOG", "--columns", LONG],
        ["measure", "LOG", "--output", LONG],
        ["columns", LONG],
        ["columns", "LOG", "--write", LONG],
        ["coastdown", "LOG", "--write", LONG],
        ["report", "LOG", "--output", f"{LONG}.html"],
        ["report", "LOG", "--output", "OUT", "--figures", LONG],
        ["compare", "--group", f"a={LONG}", "--group", "b=LOG"],
        ["plan", LONG, "--difference", "1"],
        ["plan", "--difference", "1", "--output", f"{LONG}.html"],
        ["audit", LONG],
        ["audit", "FOLDER", "--output", f"{LONG}.html"],
    ],
    ids=" ".join,
)
def test_a_name_longer_than_names_can_be_is_refused_in_words(arguments, tmp_path):
    given = {"LOG": COMMUTE / "controller.csv", "FOLDER": COMMUTE, "OUT": tmp_path / "a.html"}
    status, out, err = ridelog(*(given.get(word, word) for word in arguments))
    assert status in (Exit.USAGE, Exit.UNREADABLE)
    assert "should not" not in err
    assert (out, len(err.splitlines())) in {("", 1), ("", 2)}
