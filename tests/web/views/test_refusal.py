"""What a visitor sees whose files gave no answer."""

from ridelog.recording import ColumnReading
from ridelog.web.rides import Columns, ShownRide
from ridelog.web.views.refusal import refusal
from tests.web.views.test_answer import texts


def test_the_cause_the_hint_and_the_question_are_shown():
    readings = (ColumnReading("current one", None, "battery current", why="which of the two?"),)
    asked = Columns("two.csv", readings, ("which?",), "[log]\n")
    shown = ShownRide(
        "Your files", error_lines=("two.csv: two currents", "hint: say which"), columns=(asked,), files=("two.csv",)
    )
    told = " ".join(texts(refusal(shown, "token")))
    for words in ("These files could not be measured", "two currents", "hint: say which", "current one", "two.csv"):
        assert words in told
    assert "Download the column map" in told
