"""What a page says around its tables and charts; and that nothing else there makes sentences of values."""

import ast
import re

import pytest

from ridelog.answer.ride import Charge
from ridelog.findings import Finding
from ridelog.tell import page
from ridelog.tell.numbers import METRIC, PAGE
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity
from tests.places import ROOT
from tests.tell.cases import CASES

PACKAGE = ROOT / "ridelog"


@pytest.mark.parametrize(
    ("start_s", "end_s", "shown"),
    [
        (190.0, 320.0, "Shown: 0:03:10 to 0:05:20, 650 samples"),
        (1.2, 3.4, "Shown: 0:00:01.2 to 0:00:03.4, 650 samples"),
    ],
)
def test_the_stretch_shown_is_told_in_words(start_s, end_s, shown):
    assert page.shown_stretch(start_s, end_s, 650, PAGE).replace("\xa0", " ").startswith(shown)


def test_headings_count_what_they_head():
    assert page.with_count("Notes", 4, METRIC) == "Notes (4)"
    assert page.more_events(31, METRIC).startswith("31 more: ")


def test_what_is_known_of_the_charge_stands_under_it(make_answer):
    """Drawn alone, the most that can have been drawn, drawn and returned, or one way and the other."""
    unknown = Charge(Quantity(4.42), None, None)
    either_way = Finding("flow-while-braked", "warning", dict(CASES["flow-while-braked"][0], bounded=False))
    open_sign = Finding("sign-open", "warning", CASES["sign-open"][0])
    assert page.charge_note(make_answer(charge=unknown), METRIC) == "drawn"
    assert page.charge_note(make_answer(charge=unknown, findings=(either_way,)), METRIC) == "drawn, at most"
    assert page.charge_note(make_answer(), METRIC) == "drawn; 0.294 Ah returned"
    assert page.charge_note(make_answer(findings=(open_sign,)), METRIC) == "one way; 0.294 Ah the other"


def test_what_is_not_known_is_left_out_of_a_note():
    assert page.descent_note(None, METRIC) is None
    assert page.descent_note(Quantity(97.6, 95.0, 99.0), METRIC) == "descended 98 m"


def test_the_head_of_a_column_that_shows_both_keeps_its_unit():
    assert page.returned_of_available("Returned, Wh") == "Returned of available, Wh"


def test_the_budget_begins_with_the_share_and_its_interval():
    told = page.budget_lead(Budget("recovered", "%", 8.081, (), 0.02, 8.04, 8.12), METRIC)
    assert told.startswith("8.08 % (8.04 to 8.12)")


VALUE = "\0"  # stands for what is put in
ATTRIBUTE = r"""\s[\w-]+="[^"<>]*(?:"|$)"""
MARKUP = re.compile(rf"<[^<>]*>|<[^<>]*$|&\w+;|{ATTRIBUTE}", re.DOTALL)  # elements and attributes, whole or begun


def composed(source):
    """Lines in which words and a value are put together, other than names of style sheets and of programs.

    What stands between angle brackets, or is an attribute of an element, is markup and no word.
    """
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            written = "".join(part.value if isinstance(part, ast.Constant) else VALUE for part in node.values)
            words = MARKUP.sub("", written).replace(VALUE, "")
            if " " in words.strip() and any(letter.isalpha() for letter in words):
                found.append(node.lineno)
    return found


# module -> why what it puts together is no sentence
ELSEWHERE = {
    "web/__init__.py": "an attribute that a programmer misspelled",
    "web/guards.py": "a header of the page",
    "web/views/sealed.py": "what a programmer is told of an element that no table has",
    "cli/parser.py": "the version",
}


def test_the_page_and_the_terminal_compose_no_sentences():
    paths = [*(PACKAGE / "console").rglob("*.py"), *(PACKAGE / "cli").rglob("*.py"), *(PACKAGE / "web").rglob("*.py")]
    found = {str(path.relative_to(PACKAGE)) for path in paths if composed(path.read_text(encoding="utf-8"))}
    assert found == set(ELSEWHERE)


def test_a_sentence_composed_elsewhere_would_be_seen():
    assert composed('print(f"{n} more of them")') == [1]
    assert composed('width = f"{x}%"') == []
    assert composed("""said = f'<p class="soft">{n} more of them</p>'""") == [1]
    assert composed("""said = f'<p class="soft">{words.more(n)}</p> <a href="{path}" download>{name}</a>'""") == []
