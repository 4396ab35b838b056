"""A document is one HTML file in which nothing comes from outside, and no name is markup."""

from html.parser import HTMLParser

from ridelog.report.sheet import sheet, table_of, text
from ridelog.tell.kinds import ENERGY
from ridelog.tell.numbers import PAGE
from ridelog.tell.table import Column, Table
from ridelog.uncertain.quantity import Quantity

TABLE = Table(
    "x", "Rides & <i>hills</i>",
    (Column("name", "Name", align="left"), Column("drawn", "Drawn", ENERGY), Column("none", "Nothing")),
    (("<script>alert(1)</script>", Quantity(5.0, 4.0, 6.0), None), ("b\x1b[31m", None, None)), "A note & more",
)  # fmt: skip


class Tags(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.opened, self.words = [], []
        self.feed(page)

    def handle_starttag(self, tag, _attrs):
        self.opened.append(tag)

    def handle_data(self, data):
        self.words.append(data)


def test_what_comes_from_a_log_is_text_and_never_markup():
    tags = Tags(sheet("<title>", [table_of(TABLE, PAGE)]))
    assert "script" not in tags.opened
    assert "i" not in tags.opened
    assert "<script>alert(1)</script>" in tags.words
    assert not any("\x1b" in word for word in tags.words)
    assert text("a<b>&\x07") == "a&lt;b&gt;&amp;\N{REPLACEMENT CHARACTER}"


def test_a_table_has_heads_of_columns_and_rows_and_leaves_out_what_nobody_knows():
    drawn = table_of(TABLE, PAGE)
    assert drawn.count('scope="col"') == 2
    assert drawn.count('scope="row"') == 2
    assert "Drawn [Wh]" in drawn
    assert "Nothing" not in drawn
    assert "A note &amp; more" in drawn
    assert table_of(Table("x", "x", TABLE.columns, ()), PAGE) == ""


def test_nothing_is_fetched():
    page = sheet("x", [table_of(TABLE, PAGE)])
    assert not any(word in page for word in ("http:", "https:", "src=", "href=", "url(", "@import"))
