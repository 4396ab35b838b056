"""The PDF: the same bytes again, tagged, its text readable by another program, on the paper that was asked for."""

import ctypes
import re
import sys
import zlib
from dataclasses import replace
from types import SimpleNamespace

import pypdfium2
import pytest

from ridelog.errors import RidelogError
from ridelog.report.making import Making
from ridelog.report.pdf import UNIT, VARIANT, WHOLE, layout, pdf_of
from ridelog.report.ride.page import ride_page
from ridelog.report.sheet import sheet
from tests.scenarios import sample_answer

# ISO 216: A4 is 210 mm x 297 mm; letter 8.5 in x 11 in (ANSI/ASME Y14.1); a point is 1/72 in.
SIZES = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "letter": (612.0, 792.0)}


def page(paper):
    """The report of a sample ride without what makes it long: to lay that out takes most of the time."""
    answer = sample_answer("no-return")
    short = replace(answer, settings={}, braking=replace(answer.braking, events=answer.braking.events[:2]), budget=())
    return ride_page(short, Making(paper=paper))


@pytest.fixture(scope="module")
def made():
    return {paper: pdf_of(page(paper)) for paper in SIZES}


def test_the_same_page_makes_the_same_bytes(made):
    again = pdf_of(page("a4"))
    assert again == made["a4"]
    assert b"/CreationDate" not in again
    assert b"/ModDate" not in again


def test_what_paper_never_shows_is_not_laid_out(made, monkeypatch):
    """The drawings for telephones, which are half of all drawings, and change no byte."""
    html = page("a4")
    assert html.count('class="drawing narrow"') >= 2
    given = []
    monkeypatch.setattr("ridelog.report.pdf.layout", lambda: SimpleNamespace(HTML=lambda string: Laid(string, given)))
    pdf_of(html)
    assert "drawing wide" in given[0]
    assert "drawing narrow" not in given[0]
    monkeypatch.undo()
    assert layout().HTML(string=UNIT.sub(WHOLE, html)).write_pdf(pdf_variant=VARIANT) == made["a4"]


class Laid:
    """In the place of what lays out: notes what it is given."""

    def __init__(self, html, given):
        given.append(html)

    def write_pdf(self, **_):
        return b""


@pytest.mark.parametrize("paper", SIZES)
def test_every_page_is_of_the_paper(made, paper):
    with pypdfium2.PdfDocument(made[paper]) as document:
        for page in document:
            assert page.get_size() == pytest.approx(SIZES[paper], abs=0.5)


def test_another_program_reads_the_answer_and_finds_it_tagged(made):
    with pypdfium2.PdfDocument(made["a4"]) as document:
        words = " ".join(document[0].get_textpage().get_text_range().split())
        assert "27.2 Wh was drawn. We cannot say how much came back" in words
        assert pypdfium2.raw.FPDFCatalog_IsTagged(document.raw)
        assert document.get_metadata_dict()["Title"].startswith("Ride report: log + track")


def unpacked(stream):
    """What a stream of a PDF holds, where it is packed as most are."""
    try:
        return zlib.decompressobj().decompress(stream)
    except zlib.error:
        return stream


def test_it_says_that_it_keeps_to_the_standard_of_accessible_pdf(made):
    """ISO 14289-1:2014, 7.1 and 5: a mark of the part that it keeps to, a language, and marked content."""
    plain = b"".join(unpacked(each) for each in re.findall(rb"stream\r?\n(.*?)endstream", made["a4"], flags=re.DOTALL))
    assert b'pdfuaid:part="1"' in plain
    assert b"/Lang (en)" in plain
    assert b"/MarkInfo" in plain


def test_pictures_and_equations_have_words_for_who_hears_them(made):
    """The alternative texts of the structure tree, read by the same program."""
    found = []
    with pypdfium2.PdfDocument(made["a4"]) as document:
        for page in document:
            tree = pypdfium2.raw.FPDF_StructTree_GetForPage(page.raw)
            roots = [
                pypdfium2.raw.FPDF_StructTree_GetChildAtIndex(tree, k)
                for k in range(pypdfium2.raw.FPDF_StructTree_CountChildren(tree))
            ]
            found += [text for root in roots for text in alternatives(root)]
            pypdfium2.raw.FPDF_StructTree_Close(tree)
    assert "Height along the road, and what each hill took and gave back" in found
    assert "Battery power over the ride" in found


def alternatives(element):
    """The alternative texts of an element and of all within it."""
    if not element:
        return
    size = pypdfium2.raw.FPDF_StructElement_GetAltText(element, None, 0)
    if size > 2:
        buffer = ctypes.create_string_buffer(size)
        pypdfium2.raw.FPDF_StructElement_GetAltText(element, buffer, size)
        yield buffer.raw[: size - 2].decode("utf-16-le")
    for k in range(max(pypdfium2.raw.FPDF_StructElement_CountChildren(element), 0)):
        yield from alternatives(pypdfium2.raw.FPDF_StructElement_GetChildAtIndex(element, k))


def test_without_its_libraries_a_sentence_says_how_to_get_them(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(RidelogError, match="WeasyPrint") as missing:
        layout()
    assert "pip install weasyprint" in missing.value.hint

    class Without:
        def find_spec(self, name, _path=None, _target=None):
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint")
    monkeypatch.setattr(sys, "meta_path", [Without(), *sys.meta_path])
    with pytest.raises(RidelogError, match="Pango") as missing:
        layout()
    assert "apt-get install libpango-1.0-0" in missing.value.hint


def test_no_line_ends_within_a_unit():
    html = (
        '<!doctype html><html lang="en"><title>t</title><p style="width: 1px">0.4 Wh/km at 20 km/h or Wh/mi</p></html>'
    )
    page = pypdfium2.PdfDocument(pdf_of(html))[0]
    assert page.get_textpage().get_text_bounded().split() == ["0.4", "Wh/km", "at", "20", "km/h", "or", "Wh/mi"]


def test_no_row_of_a_table_stands_alone_on_a_page():
    """Tables of seven rows that begin lower and lower down a page, until none of their rows is left on it."""
    rows = "".join(f"<tr><th>row {n}</th></tr>" for n in range(7))
    table = f"<table><thead><tr><th>head</th></tr></thead><tbody>{rows}</tbody></table>"
    parts = [
        f'<div style="height: {height_mm}mm; break-before: page">above</div>{table}' for height_mm in range(216, 258, 6)
    ]
    with pypdfium2.PdfDocument(pdf_of(sheet("t", parts))) as document:
        words = [page.get_textpage().get_text_range() for page in document]
    parted = [page.count("row ") for page in words if 0 < page.count("row ") < 7]
    assert len(parted) >= 4  # two tables at least
    assert min(parted) >= 2
    assert all(after >= 3 for before, after in zip(parted[::2], parted[1::2], strict=True))


@pytest.mark.parametrize("below", ["<div><table><tr><td>under</td></tr></table></div>", "<pre>under</pre>"])
def test_a_heading_and_what_leads_to_a_table_stand_on_the_page_of_what_they_lead_to(below):
    """Sections that begin lower and lower down a page: heading, a line, a table or a command."""
    parts = [
        f'<div style="height: {height_mm}mm; break-before: page">above</div><section id="budget"><h2>heading</h2>'
        f"<p>lead</p>{below}</section>"
        for height_mm in range(222, 262, 4)
    ]
    with pypdfium2.PdfDocument(pdf_of(sheet("t", parts))) as document:
        words = [page.get_textpage().get_text_range() for page in document]
    together = [[each in page for each in ("heading", "lead", "under")] for page in words]
    assert len(words) > len(parts)  # some have moved on
    assert all(each in ([True] * 3, [False] * 3) for each in together)
