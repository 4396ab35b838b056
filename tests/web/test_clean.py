"""What files and columns are called reaches the page as text that can only be read."""

from dataclasses import replace

import dash_mantine_components as dmc
from dash import html

from ridelog.tell.numbers import METRIC
from ridelog.web.callbacks.look import screen_look
from ridelog.web.clean import cleaned
from ridelog.web.parts.tray import Seen, tray_list
from ridelog.web.rides import Columns, ShownRide, shown_ride
from ridelog.web.views.answer import answer_page
from ridelog.web.views.refusal import refusal
from tests.web.tray.test_grouping import file
from tests.web.tray.test_tray import tray_of

HOSTILE = "a\x1b[31m\u202eb\x9bc"
SEEN = "a�[31m�b�c"


def texts(part):
    """Every text that a component holds, in whatever property."""
    if isinstance(part, str):
        return [part]
    if isinstance(part, dict):
        return [text for each in part.values() for text in texts(each)]
    if isinstance(part, (list, tuple)):
        return [text for each in part for text in texts(each)]
    return texts(part.to_plotly_json()) if hasattr(part, "to_plotly_json") else []


def test_texts_are_cleaned_wherever_they_stand_and_lines_stay():
    part = html.Div(
        [HOSTILE, dmc.Text(HOSTILE), html.P(["x", html.B(HOSTILE)])], title=HOSTILE, **{"aria-label": HOSTILE}
    )
    assert [text for text in texts(cleaned(part)) if "\x1b" in text] == []
    assert cleaned("a\nb\u2009c\u00a0d") == "a\nb\u2009c\u00a0d"
    assert cleaned(None) is None
    assert cleaned(html.P(HOSTILE)).children == SEEN


def test_a_ride_and_a_refusal_of_hostile_names_are_clean(make_answer):
    """The name of the ride, of its files and of their columns, and the lines of an error."""
    from ridelog.recording import ColumnReading

    answer = make_answer(n=60)
    sources = tuple(replace(source, path=HOSTILE) for source in answer.sources)
    answer = replace(answer, ride=replace(answer.ride, name=HOSTILE), sources=sources)
    columns = (Columns(HOSTILE, (ColumnReading(HOSTILE, "time_s", HOSTILE),), (HOSTILE,), "[log]\n"),)
    shown = cleaned(
        answer_page(shown_ride(answer, title=HOSTILE, columns=columns, files=(HOSTILE,)), screen_look(None), "t")
    )
    refused = cleaned(refusal(ShownRide("T", error_lines=(HOSTILE,), columns=columns, files=(HOSTILE,)), "t"))
    for part in (shown, refused):
        assert any(SEEN in text for text in texts(part))
        assert [text for text in texts(part) if "\x1b" in text or "\u202e" in text or "\x9b" in text] == []


def test_a_ride_of_a_visitor_has_clean_names_in_the_lists_of_other_files_too():
    tray = tray_of(*(replace(file(f"{n}", 90 * n), name=f"{HOSTILE}{n}.csv") for n in range(2)))
    tray.regroup()
    parts = cleaned(tray_list(tray, Seen(lambda _token: None), METRIC))
    assert sum(text.startswith("with ") and SEEN in text for text in texts(parts)) == 2
    assert [text for text in texts(parts) if "\x1b" in text or "\u202e" in text or "\x9b" in text] == []
