"""XML from a stranger's device: decoded by what it says, refused where it could harm, kept up to its damage."""

import codecs
import re
from collections.abc import Callable
from xml.etree.ElementTree import Element, ParseError, TreeBuilder, XMLParser

from ridelog.tell.refusals import tracks

# Code pages of XML files from devices; anything else is read as UTF-8, and its strange letters do not matter.
_ENCODINGS = re.compile(r"(utf-?8|utf-?16(le|be)?|us-ascii|iso-?8859-?\d{1,2}|latin-?1|windows-?125\d|cp125\d)")
_BLANKS = re.compile(r"\s*")
_ELEMENT = re.compile(r"<(?:[\w.-]+:)?([\w.-]+)")


def decoded(content: bytes) -> str:
    """The text, by its byte order mark, its zero bytes, or the encoding that its declaration names."""
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
    ):
        if content.startswith(mark):
            return content[len(mark) :].decode(encoding, errors="replace")
    if content.startswith(b"<\0"):
        return content.decode("utf-16-le", errors="replace")
    if content.startswith(b"\0<"):
        return content.decode("utf-16-be", errors="replace")
    declared = re.match(rb"\s*<\?xml[^>]*?encoding\s*=\s*[\"']([\w.-]+)", content)
    encoding = declared[1].decode("ascii", errors="replace").lower() if declared else "utf-8"
    if not _ENCODINGS.fullmatch(encoding) or encoding.startswith("utf"):
        encoding = "utf-8"  # a declared UTF-16 without its zero bytes is not UTF-16
    try:
        return content.decode(encoding, errors="replace")
    except LookupError:  # a code page of a known family that does not exist
        return content.decode("utf-8", errors="replace")


def root_name(text: str) -> str | None:
    """Local name of the first element, comments and document type passed over."""
    position = 0
    while True:
        blanks = _BLANKS.match(text, position)
        position = blanks.end() if blanks else position
        for begin, end in (("<?", "?>"), ("<!--", "-->")):
            if text.startswith(begin, position):
                found = text.find(end, position)
                break
        else:
            if not text.startswith("<!DOCTYPE", position):
                element = _ELEMENT.match(text, position)
                return element[1] if element else None
            end = "]>" if "[" in text[position : text.find(">", position)] else ">"
            found = text.find(end, position)
        if found < 0:
            return None
        position = found + len(end)


def undeclared(text: str) -> str:
    """A document without its declaration: the encoding named there no longer holds."""
    return re.sub(r"^\s*<\?xml.*?\?>", "", text, count=1, flags=re.DOTALL)


def parsed(text: str, name: str, cut: Callable[[bytes], bytes | None]) -> tuple[Element, int | None]:
    """The document, and at which line it is damaged, if it is: what came before the damage is then kept.

    Parameters
    ----------
    text : the whole document
    name : of the file, for messages
    cut : given the bytes before the damage, returns the part of them that is worth keeping with its open
        elements closed, or ``None``

    Returns
    -------
    Root element, and the place of the damage; ``None`` where there is none.

    Raises
    ------
    InputError : it has a document type or entities, or nothing of it can be kept
    """
    whole = undeclared(text).encode("utf-8", errors="replace")
    if (plain := _plain_parse(whole)) is not None:
        return plain, None
    root, bad_byte, line = _refusing_parse(whole, name)
    if root is not None:
        return root, None
    repaired = cut(whole[:bad_byte])
    if repaired is not None:
        root, _, _ = _refusing_parse(repaired, name)
    if root is None:
        raise tracks.broken_xml(name, line)
    return root, line


def _plain_parse(document: bytes) -> Element | None:
    """The root of a document that is whole and cannot hold a document type, and so no entities; else ``None``."""
    if b"<!DOCTYPE" in document:
        return None
    # what defusedxml refuses stands in a document type alone; its own parser calls Python for each element
    parser = XMLParser(encoding="utf-8")  # noqa: S314
    try:
        parser.feed(document)
        root: Element = parser.close()
    except ParseError:
        return None
    return root


def _refusing_parse(document: bytes, name: str) -> tuple[Element | None, int, int]:
    """The root, or ``None`` with the byte and line of the damage."""
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    parser = DefusedXMLParser(target=TreeBuilder(), encoding="utf-8", forbid_dtd=True)
    try:
        parser.feed(document)
        return parser.close(), 0, 0
    except DefusedXmlException:
        raise tracks.harmful_xml(name) from None
    except ParseError as error:
        return None, max(parser.parser.ErrorByteIndex, 0), error.position[0]


def local_name(element: Element) -> str:
    """Name of an element without its namespace; empty for comments."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
