"""What a measuring process hands back is drawn as what it measured, and is data only."""

import json
import pickle

import pytest
from plotly.utils import PlotlyJSONEncoder

from ridelog.answer.frames import rows
from ridelog.errors import RidelogError
from ridelog.recording import ColumnReading
from ridelog.web.callbacks.look import screen_look
from ridelog.web.jobs.carried import packed, unpacked
from ridelog.web.rides import Columns, ShownRide, shown_ride
from ridelog.web.views.answer import answer_page
from tests.scenarios import SLUGS, sample_answer

COLUMNS = (
    Columns("a.csv", (ColumnReading("I", "current_a", "battery current", "A", sign=-1, why="x"),), ("q?",), "m"),
)


@pytest.mark.parametrize("slug", SLUGS)
def test_an_answer_is_drawn_the_same_after_it_was_carried(slug):
    shown = shown_ride(sample_answer(slug), title="T", columns=COLUMNS, files=("a.csv",))
    carried = unpacked(*packed(shown))
    pages = [json.dumps(answer_page(each, screen_look(None), "t"), cls=PlotlyJSONEncoder) for each in (shown, carried)]
    assert pages[0] == pages[1]
    assert carried.columns == shown.columns
    assert carried.answer.series.equals(shown.answer.series)
    assert carried.answer.series.index.name == "time"
    assert rows(carried.answer, "samples") == rows(shown.answer, "samples")
    assert carried.size_bytes > 0


def test_a_refusal_keeps_its_lines_and_columns():
    shown = ShownRide("T", error_lines=("a", "hint: b"), columns=COLUMNS, files=("a.csv",))
    assert unpacked(*packed(shown)) == shown


@pytest.mark.parametrize("what", [b"", b"[]", b"{}", b'{"answer": {}}', pickle.dumps({"a": 1})])
def test_what_is_no_ride_is_refused(what):
    arrays = packed(ShownRide("T"))[1]
    with pytest.raises((ValueError, KeyError, TypeError, RidelogError)):
        unpacked(what, arrays)
    with pytest.raises((ValueError, KeyError, TypeError, EOFError, OSError, RidelogError)):
        unpacked(packed(ShownRide("T"))[0], what)
