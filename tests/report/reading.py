"""A document read back as a stranger would: its tables, lists and words, with nothing of ridelog."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "link", "img", "input"}
NUMBER = re.compile(r"[−-]?\d[\d\u202f]*(?:[.,]\d+)?")


@dataclass
class ReadTable:
    """Keys and heads of its columns, and of each cell its text and the small text beneath."""

    keys: list[str] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    rows: list[list[tuple[str, str]]] = field(default_factory=list)

    def column(self, key: str) -> list[tuple[str, str]]:
        """Cells of one column."""
        return [row[self.keys.index(key)] for row in self.rows]

    def head(self, key: str) -> str:
        """The head of one column."""
        return self.heads[self.keys.index(key)]


class Document(HTMLParser):
    """``tables`` by their ids, ``figures`` by their keys, all ``words``, ``tags`` in order, and ``wrong`` nesting."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tables: dict[str, ReadTable] = {}
        self.figures: dict[str, tuple[str, str]] = {}
        self.command = ""
        self.h1 = ""
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.wrong: list[str] = []
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self._table: ReadTable | None = None
        self.feed(html)

    @property
    def text(self) -> str:
        """All words, blanks of any kind as one."""
        return " ".join(" ".join(self.words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep what opens."""
        given = dict(attrs)
        self.tags.append((tag, given))
        if tag not in VOID:
            self._open.append((tag, given))
        if tag == "table":
            self._table = self.tables.setdefault(str(given.get("id")), ReadTable())
        if self._table is not None:
            if tag == "th" and given.get("scope") == "col":
                self._table.keys.append(str(given.get("data-key")))
                self._table.heads.append("")
            elif tag == "tr" and self._inside("tbody"):
                self._table.rows.append([])
            elif tag in ("th", "td"):
                self._table.rows[-1].append(("", ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """What opens and closes at once holds nothing."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """See whether what closes is what was open."""
        if not self._open or self._open[-1][0] != tag:
            self.wrong.append(tag)
            return
        self._open.pop()
        if tag == "table":
            self._table = None

    def handle_data(self, data: str) -> None:
        """Put words where they belong."""
        if self._inside("style"):
            return
        self.words.append(data)
        if self._inside("h1"):
            self.h1 += data
        if any(given.get("id") == "command" for _, given in self._open):
            self.command += data
        key = next((str(given["data-key"]) for tag, given in self._open if tag == "dd" and "data-key" in given), None)
        if key is not None:
            value, small = self.figures.get(key, ("", ""))
            self.figures[key] = (value, small + " | " + data) if self._inside("small") else (value + data, small)
        if self._table is not None and not self._inside("caption"):
            if self._inside("thead"):
                self._table.heads[-1] += data
            elif (self._inside("td") or self._inside("th")) and self._table.rows and self._table.rows[-1]:
                value, small = self._table.rows[-1][-1]
                cell = (value, small + data) if self._inside("small") else (value + data, small)
                self._table.rows[-1][-1] = cell

    def _inside(self, tag: str) -> bool:
        return any(opened == tag for opened, _ in self._open)


def numbers_in(text: str, point: str = ".") -> list[tuple[float, float]]:
    """Each number in a text, with half a unit of its last digit."""
    found = []
    for match in NUMBER.findall(text):
        plain = match.replace("\u202f", "").replace("−", "-")
        whole, _, decimals = plain.partition(point)
        assert "." not in whole
        assert "," not in whole
        found.append((float(f"{whole}.{decimals or 0}"), 0.5 * 10.0 ** -len(decimals)))
    return found
