"""The plan as a document: the words and numbers of the plan, one page on each paper, the same bytes again."""

from dataclasses import replace

import pypdfium2
import pytest

from ridelog.compare.plan import SoFar, plan_of
from ridelog.report.making import Making
from ridelog.report.plans import plan_document, plan_page
from ridelog.tell.compare import plan as words
from tests.report.reading import Document
from tests.report.test_pdf import SIZES
from tests.scenarios import sample_answer


@pytest.fixture(scope="module")
def plan():
    return plan_of(SoFar.of_ride(sample_answer("commute")), 1.0)


@pytest.fixture(scope="module")
def longest(plan):
    """A plan that says all that a plan can say."""
    return replace(
        plan, rides=5, spread_assumed=False, spread_high=2.5, pairs_high=120, log_every_s=0.1, logged_every_s=1.0,
        standby_known=False, drag_assumed=True,
        curve=tuple(replace(each, if_wider=each.power / 2) for each in plan.curve),
    )  # fmt: skip


def plain(said):
    """Words without marks of code, and without the blanks that a mark of code ends with."""
    return "".join(said.replace("`", "").split())


def test_every_line_and_number_of_the_plan_is_in_it(longest):
    document = Document(plan_page(longest))
    assert plain(document.h1) == plain(words.headline(longest))
    for part in words.parts(longest):
        assert part.heading in document.text
        for line in part.lines:
            assert plain(line) in plain(document.text)
    table = document.tables["t-power"]
    told = [(str(each.pairs), f"{100 * each.power:.0f}", f"{100 * each.if_wider:.0f}") for each in longest.curve]
    assert [tuple(cell[0] for cell in row) for row in table.rows] == told


def test_nothing_runs_and_nothing_is_fetched(plan):
    page = plan_page(plan, Making(command='ridelog plan "<b>"'))
    assert not {"script", "img", "link", "iframe"} & {tag for tag, _ in Document(page).tags}
    assert "<b>" not in page
    assert page == plan_page(plan, Making(command='ridelog plan "<b>"'))


@pytest.mark.parametrize("paper", SIZES)
def test_it_is_one_page_whatever_it_says(plan, longest, paper):
    made = plan_document(longest, Making(paper=paper, command=f"ridelog plan {'a long name ' * 8}"), ".pdf")
    with pypdfium2.PdfDocument(made) as document:
        assert len(document) == 1
        assert document[0].get_size() == pytest.approx(SIZES[paper], abs=0.5)
    assert plan_document(plan, Making(paper=paper), ".pdf") == plan_document(plan, Making(paper=paper), ".pdf")
