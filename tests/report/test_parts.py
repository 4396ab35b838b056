"""Parts of a document: sections with their anchors, drawings for two widths, findings with their codes."""

from ridelog.findings import Finding
from ridelog.report.drawings.svg import Drawing
from ridelog.report.parts import contents, drawn, figure, findings, paragraph, section
from ridelog.tell.numbers import PAGE
from tests.conftest import GAP
from tests.report.reading import Document


def test_a_section_is_named_by_its_heading_and_reached_from_the_contents():
    made = section("road", "Hills & more", "<p>x</p>", "")
    assert made == ("road", "Hills & more", "<p>x</p>")
    document = Document(contents([made], "Contents") + drawn(made))
    ids = {given["id"] for _, given in document.tags if "id" in given}
    assert {given["href"][1:] for _, given in document.tags if "href" in given} <= ids
    assert document.wrong == []
    assert section("road", "Hills", "", "") is None


def test_a_drawing_is_made_for_a_page_and_for_a_telephone():
    shown = figure(lambda width: Drawing("x", "T", "D", width, 10, ()), "Legend")
    assert shown.count("<svg") == 2
    assert "drawing narrow" in shown
    assert figure(lambda _width: None, "Legend") == ""


def test_a_finding_says_how_grave_it_is_when_and_its_code():
    words = Document(findings([Finding("gaps", "warning", GAP, 600.0, 660.0)], PAGE)).text
    assert words.startswith("▲ Warning:")
    assert words.endswith("0:10:00 to 0:11:00 · gaps")
    assert findings([], PAGE) == ""


def test_what_stands_between_backticks_is_code():
    assert paragraph("see `a<b`", "soft") == '<p class="soft">see <code>a&lt;b</code></p>'
    assert paragraph("") == ""
