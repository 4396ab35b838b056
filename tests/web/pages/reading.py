"""A page read as a person reads it: its tables by the heading or the fold that they stand under."""

from html.parser import HTMLParser


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self._title, self._heading, self._cell = "", False, False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        if tag in ("h2", "h3", "summary"):
            self._title, self._heading = "", True
        elif tag == "tr":
            self.tables.setdefault(self._title, []).append([])
        elif tag in ("td", "th"):
            self._cell = True
            self.tables[self._title][-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("h2", "h3", "summary"):
            self._heading = False
        elif tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        if self._heading:
            self._title += data
        elif self._cell:
            self.tables[self._title][-1][-1] += data


def tables(page: str) -> dict[str, list[list[str]]]:
    """Rows of cells by title, without the heads."""
    reader = _Reader()
    reader.feed(page)
    return {title: rows[1:] for title, rows in reader.tables.items()}
