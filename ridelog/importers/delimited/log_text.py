"""The text of a log as bytes of one form, whatever it was written in: no second copy where it already has that form."""

import codecs
from collections.abc import Iterator
from functools import cached_property
from io import BytesIO

from ridelog.lazy import dataclass
from ridelog.tell.refusals import files
from ridelog.tell.refusals import logs as refusals

SNIFFED_BYTES = 65_536  # enough for the longest preamble seen in practice, small enough to be instant
_CONTROLS = bytes((*range(9), *range(14, 27), *range(28, 32), 127))  # what no text holds
_CHUNK_BYTES = 1 << 20


@dataclass(frozen=True)
class LogText:
    """A text in UTF-8 with ``\\n`` at the end of every line, without a mark at its beginning and null characters."""

    content: bytes

    @classmethod
    def of(cls, text: str) -> "LogText":
        """A text whose lines are parted by ``\\n`` already."""
        return cls(text.encode("utf-8", "replace"))

    @property
    def text(self) -> str:
        """All of it, decoded at each call: as large again."""
        return self.content.decode("utf-8")

    @property
    def head(self) -> str:
        """Its beginning, of more than `SNIFFED_BYTES` characters where it is longer than that."""
        return self.content[: 4 * SNIFFED_BYTES + 4].decode("utf-8", "ignore")

    @property
    def is_longer_than_its_head(self) -> bool:
        """Whether the head is not all."""
        return len(self.content) > 4 * SNIFFED_BYTES + 4

    @cached_property
    def has_quotes(self) -> bool:
        """Whether there is a quotation mark anywhere."""
        return b'"' in self.content

    def start_of(self, line: int) -> int:
        """Place of the first byte of ``line``, counted from 1."""
        place = 0
        for _ in range(line - 1):
            place = self.content.find(b"\n", place) + 1
        return place

    def lines_from(self, line: int) -> Iterator[str]:
        """Lines from ``line`` on, counted from 1, without their ends; one at a time."""
        stream = BytesIO(self.content)
        stream.seek(self.start_of(line))
        for each in stream:
            yield each.removesuffix(b"\n").decode("utf-8")


def encoding_of(content: bytes) -> str | None:
    """The encoding of a text, by its byte order mark or by what decodes; ``None`` for binary content."""
    if content.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    head = content[:SNIFFED_BYTES]
    if head.count(0) > len(head) // 4:
        return _utf16_without_mark(head)
    if len(head) - len(head.translate(None, _CONTROLS)) > len(head) // 1000:
        return None
    if _is_utf8(content):
        return "utf-8"
    return "cp1252" if not any(code in content for code in b"\x81\x8d\x8f\x90\x9d") else "latin-1"


def _utf16_without_mark(head: bytes) -> str | None:
    even, odd = head[0::2].count(0), head[1::2].count(0)
    name = "utf-16-le" if odd > even else "utf-16-be"
    text = head[: len(head) // 2 * 2].decode(name, errors="replace")
    return name if min(even, odd) == 0 and text.isprintable() | ("\n" in text) and "\ufffd" not in text else None


def _is_utf8(content: bytes) -> bool:
    """Whether all of it is UTF-8, a piece at a time."""
    if content.isascii():
        return True
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for place in range(0, len(content), _CHUNK_BYTES):
            decoder.decode(content[place : place + _CHUNK_BYTES])
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def decoded(content: bytes, name: str, encoding: str | None = None) -> tuple[LogText, str]:
    """The text of the log, and the encoding that it was written in.

    Parameters
    ----------
    content : the file, unpacked
    name : of the file, for messages
    encoding : what the map states; found out where ``None``

    Returns
    -------
    Text, and Python's name of the encoding.

    Raises
    ------
    InputError : empty, binary, or not in the encoding that the map states
    """
    if not content or content.isspace():
        raise files.empty(name)
    found = encoding or encoding_of(content)
    if found is None:
        raise refusals.not_text(name)
    is_as_it_is = found == "utf-8" and (encoding is None or _is_utf8(content))
    if not is_as_it_is:
        try:
            content = content.decode(found).encode("utf-8", "replace")
        except (UnicodeError, LookupError) as error:
            byte = error.start if isinstance(error, UnicodeDecodeError) else None
            raise refusals.not_in_encoding(name, found, byte) from error
    content = content.removeprefix(codecs.BOM_UTF8)
    if b"\r" in content:
        content = content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if b"\0" in content:
        content = content.replace(b"\0", b"")
    return LogText(content), found
