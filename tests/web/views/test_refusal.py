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


def test_logs_of_one_header_are_asked_about_once_and_many_headers_not_all_at_once():
    """Of 100 logs of one header, one; of 30 other headers, as many as make 8 with it."""

    def log(name, header):
        return Columns(name, (ColumnReading(header, None, "battery current", why="x"),))

    alike = tuple(log(f"{n}.csv", "current one") for n in range(100))
    others = tuple(log(f"other{n}.csv", f"current {n}") for n in range(30))
    told = " ".join(texts(refusal(ShownRide("x", error_lines=("no",), columns=(*alike, *others)), "token")))
    assert "99 more files of this ride have the same header, and are read the same way." in told
    assert [n for n in range(100) if f"How much of {n}.csv was understood" in told] == [0]
    assert [n for n in range(30) if f"How much of other{n}.csv was understood" in told] == [*range(7)]
    assert "Files with 23 other headers are not shown" in told
    two = refusal(ShownRide("x", error_lines=("no",), columns=alike[:2]), "token")
    assert "1 more file of this ride has the same header, and is read the same way." in " ".join(texts(two))
