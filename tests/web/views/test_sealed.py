"""Tables as markup: what they show, and nothing that a file could smuggle in."""

from html.parser import HTMLParser

import pytest
from dash import dcc, html

from ridelog.web.views.sealed import markup, sealed

HOSTILE = "</td><img src=x onerror=alert(1)>\"'&<script>alert(2)</script>"


class Read(HTMLParser):
    """An independent reader of HTML (the standard library's): elements with their attributes, and all text."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.text = [], ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


def test_letters_of_a_file_are_letters_wherever_they_stand():
    cell = html.Td(HOSTILE, className=HOSTILE, title=HOSTILE, **{"data-label": HOSTILE})
    read = Read(markup(html.Table(html.Tbody(html.Tr(cell)))))
    assert [tag for tag, _ in read.elements] == ["table", "tbody", "tr", "td"]
    assert read.elements[-1][1] == {"class": HOSTILE, "title": HOSTILE, "data-label": HOSTILE}
    assert read.text == HOSTILE


def test_what_a_table_says_is_kept_with_its_looks():
    bar = html.Span(style={"width": "12.50%", "maxHeight": "none"})
    table = html.Table(
        [html.Thead(html.Tr([html.Th("a", scope="col")])), html.Tr([html.Td([3, " Wh", bar], colSpan=2)])]
    )
    read = Read(markup(table))
    assert read.elements[3] == ("th", {"scope": "col"})
    assert read.elements[5] == ("td", {"colspan": "2"})
    assert read.elements[6] == ("span", {"style": "width:12.50%;max-height:none"})
    assert read.text == "a3 Wh"


@pytest.mark.parametrize(
    "part",
    [
        html.Script("x"),
        html.Iframe(),
        dcc.Graph(id="x"),
        html.Td(n_clicks=1),
        html.A("x", href="javascript:x"),
        html.Td(id="x"),
    ],
)
def test_what_no_table_of_the_page_has_is_refused(part):
    with pytest.raises(ValueError, match="in a table"):
        markup(html.Table(part))
    assert isinstance(sealed(html.Table(part)), html.Table)


def test_only_tables_are_sealed():
    page = sealed([html.Div([html.P("x"), html.Table(html.Tr(html.Td("1")))]), "text"])
    assert page[0].children[0].children == "x"
    table = page[0].children[1]
    assert (table.className, getattr(table, "data-html")) == ("sealed", "<table><tr><td>1</td></tr></table>")
    assert page[1] == "text"


def test_a_ride_of_a_visitor_is_one_component_whose_names_are_letters():
    act = html.Button("Take out", hidden=True, **{"data-act": HOSTILE})
    files = html.Details([html.Summary("1 file"), html.Ul(html.Li([HOSTILE, act]))], id="files-abc", open=True)
    card = html.A(HOSTILE, href="/ride/abc", className="go", **{"aria-current": "page"})
    page = sealed(html.Ul(html.Li([card, files, None], className="own-ride", **{"data-token": "abc"})))
    assert (page.children.className, page.children.children) == ("own-ride sealed", None)
    read = Read(getattr(page.children, "data-html"))
    assert [tag for tag, _ in read.elements] == ["a", "details", "summary", "ul", "li", "button"]
    assert read.elements[0][1] == {"href": "/ride/abc", "class": "go", "aria-current": "page"}
    assert read.elements[1][1] == {"id": "files-abc", "open": None}
    assert read.elements[-1][1] == {"hidden": None, "data-act": HOSTILE}
    assert read.text == f"{HOSTILE}1 file{HOSTILE}Take out"
