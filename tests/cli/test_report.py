"""`ridelog report`, driven whole: forms, refusals, and the command in a document, which makes it again."""

import hashlib
import io
import shlex
import shutil
import sys

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from ridelog.report.ride.page import ride_page
from tests.compare.made_up import compared_of
from tests.places import SAMPLES
from tests.report.reading import Document
from tests.scenarios import sample_answer

NAMES = ("controller.csv", "track.gpx", "bike.toml")


def ridelog(*arguments):
    out, err = io.StringIO(), io.StringIO()
    status = main([str(argument) for argument in arguments], out, err)
    return status, out.getvalue(), err.getvalue()


@pytest.fixture
def folder(tmp_path):
    for name in NAMES:
        shutil.copy(SAMPLES / "commute" / name, tmp_path)
    return tmp_path


def call(folder, *options):
    return ridelog("report", *(folder / name for name in NAMES), *options)


@pytest.mark.parametrize(
    "options",
    [
        (),
        ("--no-place", "--paper", "letter", "--units", "imperial", "--numbers", "comma", "--date", "2026-06-01"),
    ],
)
def test_the_command_in_a_document_makes_it_again(folder, tmp_path_factory, monkeypatch, options):
    """Parsed from the document and run elsewhere, where nothing but the files is the same."""
    status, out, err = call(folder, "--output", folder / "ride report.html", *options)
    assert (status, out) == (Exit.OK, "")
    assert err == f"wrote {folder / 'ride report.html'}\n"
    made = (folder / "ride report.html").read_bytes()
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    for name in NAMES:
        shutil.copy(folder / name, elsewhere)
    monkeypatch.chdir(elsewhere)
    program, *arguments = shlex.split(Document(made.decode()).command)
    assert program == "ridelog"
    assert ridelog(*arguments)[0] is Exit.OK
    assert (elsewhere / "ride report.html").read_bytes() == made
    assert str(folder) not in made.decode()
    assert len(made) < 400_000


def test_options_change_what_is_written(folder):
    call(folder, "--output", folder / "a.html", "--units", "imperial", "--numbers", "comma", "--no-place")
    words = Document((folder / "a.html").read_text(encoding="utf-8")).text
    assert "5,23 mi" in words  # 8.42 km
    assert "km/h" not in words.split("How the columns")[0].split("Method")[0]
    assert "north of the start" not in words


def test_a_pdf_is_written(folder):
    files = [folder / name for name in NAMES if name != "track.gpx"]  # less to lay out
    assert ridelog("report", *files, "--output", folder / "a.PDF")[0] is Exit.OK
    assert (folder / "a.PDF").read_bytes().startswith(b"%PDF-")


def test_zip_and_figures_are_written(folder):
    assert call(folder, "--output", folder / "a.zip", "--figures", folder / "figures")[0] is Exit.OK
    assert (folder / "a.zip").read_bytes().startswith(b"PK")
    assert sorted(path.name for path in (folder / "figures").iterdir())[:2] == ["ledger.png", "ledger.svg"]
    status, _, err = call(folder, "--output", folder / "b.html", "--figures", folder / "figures")
    assert status is Exit.USAGE
    assert "figures/profile.svg: this file exists already" in err
    assert not (folder / "b.html").exists()


def test_a_danger_is_told_by_the_exit_status(tmp_path):
    files = [SAMPLES / "winter" / name for name in ("battery.csv", "track.gpx", "bike.toml")]
    assert ridelog("report", *files, "--output", tmp_path / "a.html")[0] is Exit.DANGER


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--output", "a.doc"), "a.doc: ends in '.doc', which names no form"),
        (("--output", "report"), "report: has no ending, which names no form"),
        (("--output", "there.html"), "--output there.html: this file exists already"),
        (("--output", "no/folder.html"), "no/folder.html: cannot be written: there is no folder"),
        (("--output", "a.html", "--date", "May"), "'May' is not a date as 2026-05-04"),
        (("--output", "a.html", "--figures", "there.html"), "there.html"),
        (("--output", "a.html", "--figures", "/proc/charts"), "/proc/charts: cannot be written"),  # takes no folder
        (("--output", "a.html", "--figures", "/proc"), "/proc: cannot be written"),
        ((), "--output"),
    ],
)
def test_a_call_that_cannot_be_served_is_refused_in_a_sentence(folder, monkeypatch, options, said):
    monkeypatch.chdir(folder)
    (folder / "there.html").write_text("mine", encoding="utf-8")
    status, out, err = ridelog("report", *NAMES, *options)
    assert status in (Exit.USAGE, Exit.UNREADABLE)
    assert out == ""
    assert said in err.splitlines()[0]
    assert len(err.splitlines()) == 2
    assert (folder / "there.html").read_text(encoding="utf-8") == "mine"
    assert sorted(path.name for path in folder.iterdir()) == sorted([*NAMES, "there.html"])


def test_force_replaces_a_file_and_a_log_is_never_replaced(folder):
    (folder / "a.html").write_text("mine", encoding="utf-8")
    assert call(folder, "--output", folder / "a.html", "--force")[0] is Exit.OK
    assert (folder / "a.html").read_text(encoding="utf-8") != "mine"
    copy = folder / "log.html"
    shutil.copy(folder / "controller.csv", copy)
    assert ridelog("report", copy, "--output", copy, "--force")[0] is Exit.USAGE


def test_a_pdf_is_refused_before_the_work_where_nothing_lays_it_out(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    status, _, err = call(folder, "--output", folder / "a.pdf")
    assert status is Exit.UNREADABLE
    assert err.splitlines() == [
        "a PDF takes WeasyPrint, which is not installed",
        "hint: pip install weasyprint; or end it in .html",
    ]


def test_a_file_that_is_not_there_is_one_line(tmp_path):
    status, _, err = ridelog("report", tmp_path / "none.csv", "--output", tmp_path / "a.html")
    assert status is Exit.UNREADABLE
    assert "none.csv" in err.splitlines()[0]


def test_a_long_ride_with_many_hills_stays_below_400_kb(make_answer):
    """Three hours at 5 Hz, 60 hills, 600 braking events."""
    answer = make_answer(n=54_000)
    hills = tuple(
        type(hill)(**{**vars(hill), "id": f"{k}-{hill.direction}", "number": k})
        for k in range(1, 11)
        for hill in answer.hills
    )
    events = tuple(
        type(event)(**{**vars(event), "start_s": event.start_s + 400.0 * k})
        for k in range(75)
        for event in answer.braking.events
    )
    braking = type(answer.braking)(**{**vars(answer.braking), "events": events})
    long = type(answer)(**{**vars(answer), "hills": hills, "hill_pairs": (), "braking": braking})
    assert 100_000 < len(ride_page(long).encode()) < 400_000


@pytest.fixture(scope="module")
def campaign(tmp_path_factory):
    """Two rides of each group of the sample campaign, in folders of their own."""
    folder = tmp_path_factory.mktemp("campaign")
    for group in ("weak", "strong"):
        rides = sorted(path for path in (SAMPLES / "campaign" / group).iterdir() if path.is_dir())[:2]
        for ride in rides:
            shutil.copytree(ride, folder / group / ride.name)
        shutil.copy(SAMPLES / "campaign" / group / "bike.toml", folder / group)
    return folder


def test_groups_make_the_document_of_a_comparison_which_its_command_makes_again(campaign, monkeypatch):
    groups = [word for name in ("weak", "strong") for word in ("--group", f"{name}={campaign / name}")]
    status, out, err = ridelog("report", *groups, "--output", campaign / "a.html")
    assert (status, out) == (Exit.OK, "")
    assert err.splitlines()[-1] == f"wrote {campaign / 'a.html'}"
    made = (campaign / "a.html").read_bytes()
    document = Document(made.decode())
    for group in ("weak", "strong"):
        for path in ((campaign / group) / "bike.toml", *(campaign / group).glob("*/*.gz")):
            assert hashlib.sha256(path.read_bytes()).hexdigest() in document.text
    assert str(campaign) not in made.decode()
    assert "The ways of 4 rides, one over the other." in document.text
    without = campaign / "without.html"
    assert ridelog("report", *groups, "--no-place", "--output", without)[0] is Exit.OK
    assert "The ways of" not in without.read_text(encoding="utf-8")
    assert "--no-place" in Document(without.read_text(encoding="utf-8")).command
    monkeypatch.chdir(campaign)
    assert ridelog(*shlex.split(document.command)[1:], "--force")[0] is Exit.OK
    assert (campaign / "a.html").read_bytes() == made


def test_a_store_is_called_by_its_own_name_in_the_document_and_its_command(tmp_path, monkeypatch):
    compared_of(tmp_path, [(group, f"ride {group}", "Avocet", sample_answer("commute")) for group in ("off", "on")])
    groups = [word for name in ("off", "on") for word in ("--group", f"{name}={tmp_path / 'kept'}?group={name}")]
    assert ridelog("report", *groups, "--output", tmp_path / "a.html")[0] is Exit.OK
    made = (tmp_path / "a.html").read_bytes()
    assert str(tmp_path) not in made.decode()
    command = Document(made.decode()).command
    assert shlex.split(command)[2:4] == ["--group", "off=kept?group=off"]
    monkeypatch.chdir(tmp_path)
    assert ridelog(*shlex.split(command)[1:], "--force")[0] is Exit.OK
    assert (tmp_path / "a.html").read_bytes() == made


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "a report is of the files of one ride, or of groups of rides"),
        (("log.csv", "--group", "a=b"), "a report is of the files of one ride, or of groups of rides"),
        (("--group", "a=b", "--group", "c=d", "--columns", "m.toml"), "--columns: goes with the files of one ride"),
        (("--group", "a=none", "--group", "c=none"), "none"),
    ],
)
def test_groups_that_cannot_be_reported_are_refused(tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    status, _, err = ridelog("report", *arguments, "--output", "a.html")
    assert status in (Exit.USAGE, Exit.UNREADABLE)
    assert said in err.splitlines()[0]
    assert len(err.splitlines()) == 2
