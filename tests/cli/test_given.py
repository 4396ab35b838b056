"""Files of a command: sorted by what they are, and a target that is refused before the work is done."""

import io
import json
import tracemalloc
from argparse import Namespace

import pytest

from ridelog.cli.given import PIECES, check_target, dump_json, sort_files
from ridelog.errors import UsageError
from tests.places import SAMPLES

BIKE = str(SAMPLES / "commute" / "bike.toml")


def test_a_bike_file_among_the_logs_is_taken_as_one():
    given = Namespace(files=["log.csv", BIKE, "track.gpx"], bike=None, columns=None)
    sort_files(given)
    assert (given.files, given.bike, given.columns) == (["log.csv", "track.gpx"], BIKE, None)


def test_two_bike_files_are_one_too_many():
    with pytest.raises(UsageError, match="second bike file"):
        sort_files(Namespace(files=[BIKE], bike="other.toml", columns=None))


def test_a_target_is_refused_that_is_read_or_there(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("x")
    with pytest.raises(UsageError, match="would be overwritten"):
        check_target(str(log), [str(log)], "--output", force=True)
    with pytest.raises(UsageError, match="exists already"):
        check_target(str(log), [], "--output", force=False)
    check_target(str(log), [], "--output", force=True)
    check_target(None, [str(log)], "--output", force=False)


def test_json_holds_only_letters_that_can_be_seen():
    """Of every kind that Unicode calls no printable letter, whether a terminal obeys it or not; blanks stay."""
    odd = "\x7f\x9b\xad\u061c\u180e\u202e\ufeff\U000e0041\ue000"
    out = io.StringIO()
    dump_json({"name": f"Köln\xa0{odd}\n\x1b🚲"}, out)
    assert out.getvalue().replace("\n", "").replace("\xa0", "").isprintable()
    assert json.loads(out.getvalue()) == {"name": f"Köln\xa0{odd}\n\x1b🚲"}


def test_a_long_answer_is_written_piece_by_piece_the_same(tmp_path):
    """All pieces of a JSON of 4 MB at once would take several times as much."""
    data = {"events": [{"value": at / 7, "low95": None, "lapsed": "Köln"} for at in range(PIECES * 4)]}
    target = tmp_path / "answer.json"
    with target.open("w", encoding="utf-8") as stream:
        tracemalloc.start()
        try:
            dump_json(data, stream)
            assert tracemalloc.get_traced_memory()[1] < 2.5e6
        finally:
            tracemalloc.stop()
    assert target.read_text(encoding="utf-8") == json.dumps(data, indent=2, ensure_ascii=False) + "\n"
