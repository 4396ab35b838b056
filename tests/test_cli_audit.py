"""`ridelog audit` and `ridelog bike` as they are called: statuses, streams, files, a sentence for what is wrong."""

import io
import json

import pytest

from ridelog.cli import main
from ridelog.errors import Exit, printable
from ridelog.fleet.store.store import open_store
from tests.fleet.recordings import MONDAY, write_log


@pytest.fixture
def bikes(tmp_path):
    write_log(tmp_path / "bikes" / "heron" / "log.csv", MONDAY)
    (tmp_path / "bikes" / "heron" / "bike.toml").write_text("")
    return tmp_path / "bikes"


def call(*arguments):
    out, err = io.StringIO(), io.StringIO()
    return main(["audit", *map(str, arguments)], out, err), out.getvalue(), err.getvalue()


def test_an_audit_prints_its_table_to_one_stream_and_its_progress_to_the_other(bikes):
    status, out, err = call(bikes)
    assert status == Exit.OK
    assert out.startswith("1 ride of 1 bike: no bike stands out.\n")
    assert err.splitlines() == ["measuring 1 ride …", "1 of 1 ride done"]
    assert (bikes / "ridelog-store" / "STORE.md").is_file()
    assert call(bikes)[2] == ""


def test_json_is_one_document_on_standard_output(bikes, tmp_path):
    status, out, _ = call(bikes, "--store", tmp_path / "store", "--json")
    told = json.loads(out)
    assert (status, told["measured"], told["bikes"][0]["bike"]) == (Exit.OK, 1, "heron")
    assert not (bikes / "ridelog-store").exists()


def test_a_file_that_is_there_is_replaced_only_where_that_is_said(bikes, tmp_path):
    target = tmp_path / "audit.html"
    done = f"wrote {target} with 1 ride of 1 bike: no bike stands out.\n"
    assert call(bikes, "--output", target) == (Exit.OK, "", f"measuring 1 ride …\n1 of 1 ride done\n{done}")
    assert call(bikes, "--output", target)[0] == Exit.USAGE
    assert call(bikes, "--output", target, "--force")[0] == Exit.OK


def test_a_file_that_could_not_be_written_is_not_said_to_be(bikes, tmp_path):
    (tmp_path / "audit.csv").mkdir()
    status, out, err = call(bikes, "--output", tmp_path / "audit.csv")
    assert (status, out) == (Exit.UNREADABLE, "")
    assert "wrote" not in err


@pytest.mark.parametrize("ending", [".json", ".csv", ".parquet", ".html"])
def test_what_was_written_where_is_said_beside_the_data(bikes, tmp_path, ending):
    (bikes / "heron" / "junk.fit").write_bytes(b"junk")
    target = tmp_path / f"audit\a{ending}"
    status, out, err = call(bikes, "--output", target, "--json")
    assert status == Exit.DANGER
    assert json.loads(out)["measured"] == 1
    told = "1 ride of 1 bike: no bike stands out; 1 ride or file could not be measured."
    assert err.splitlines()[-1] == f"wrote {printable(str(target))} with {told}"
    assert target.stat().st_size > 0


def test_a_ride_that_failed_is_status_1(bikes):
    (bikes / "heron" / "junk.fit").write_bytes(b"junk")
    status, out, _ = call(bikes)
    assert status == Exit.DANGER
    assert "junk.fit" in out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nowhere"], "nowhere: is no folder"),
        (["empty"], "empty: holds no ride"),
        (["kept"], "kept: is a store of measured rides, not a folder of recordings"),
        ([""], "FOLDER: an empty name was given"),
        (["bikes", "--store", ""], "--store: an empty name was given"),
        (["bikes", "--output", "x.doc"], "x.doc: ends in '.doc', which names no form"),
        (["bikes", "--output", "x"], "x: has no ending, which names no form"),
        (["bikes", "--workers", "0"], "argument --workers: '0' is not a number of processes from 1 to 512"),
        (["bikes", "--workers", "two"], "argument --workers: 'two' is not a number"),
        (["bikes", "--workers", "2", "--scheduler", "tcp://x:1"], "not allowed with argument"),
    ],
)
def test_a_wrong_call_is_one_sentence_and_makes_nothing(bikes, tmp_path, monkeypatch, arguments, told):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    open_store(str(tmp_path / "kept"), create=True)
    before = sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*"))
    status, out, err = call(*arguments)
    assert (status, out) == (Exit.USAGE, "")
    assert told in err.splitlines()[0]
    assert err.splitlines()[1].startswith("hint: ")
    assert sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*")) == before


def test_what_a_bike_teaches_needs_a_store_that_holds_it(bikes):
    call(bikes)
    out, err = io.StringIO(), io.StringIO()
    assert main(["bike", "--store", str(bikes / "ridelog-store"), "--bike", "heron"], out, err) == Exit.OK
    assert out.getvalue().startswith("Nothing can be learned yet")
    target = str(bikes / "new.toml")
    status = main(["bike", "--store", str(bikes / "ridelog-store"), "--bike", "heron", "--write", target], out, err)
    assert status == Exit.UNREADABLE
    assert err.getvalue().startswith(f"{target}: not written, because the rides teach nothing")
