"""XML from a stranger's device: decoded, refused where it could harm, kept up to its damage."""

import codecs

import pytest

from ridelog.errors import InputError
from ridelog.importers import gpx as importer
from ridelog.importers.xml_text import decoded, local_name, parsed, root_name
from tests.importers.tracks import gpx, point

TEXT = '<?xml version="1.0" encoding="{}"?><gpx><name>Höhe</name></gpx>'


@pytest.mark.parametrize(
    ("declared", "encoding", "mark"),
    [
        ("UTF-8", "utf-8", b""),
        ("UTF-8", "utf-8", codecs.BOM_UTF8),
        ("UTF-16", "utf-16-le", codecs.BOM_UTF16_LE),
        ("UTF-16", "utf-16-be", codecs.BOM_UTF16_BE),
        ("UTF-16", "utf-16-le", b""),
        ("UTF-16", "utf-16-be", b""),
        ("ISO-8859-1", "latin-1", b""),
        ("windows-1252", "cp1252", b""),
        ("UTF-16", "utf-8", b""),  # says one thing and is another
    ],
)
def test_a_document_is_read_in_the_encoding_that_it_is_in(declared, encoding, mark):
    text = TEXT.format(declared)
    assert decoded(mark + text.encode(encoding)) == text


@pytest.mark.parametrize("declared", ["klingon", "windows-1259", "zlib_codec", "utf-7"])
def test_an_encoding_that_is_none_of_devices_is_taken_for_utf_8(declared):
    assert "Höhe" in decoded(TEXT.format(declared).encode())


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ('<?xml version="1.0"?>\n<!-- <kml> --><gpx version="1.1">', "gpx"),
        ("  <g:gpx xmlns:g='x'>", "gpx"),
        ("<!DOCTYPE html><html>", "html"),
        ('<!DOCTYPE a [<!ENTITY b "c">]><a>', "a"),
        ("time,current\n1,2\n", None),
        ("<!-- never ends", None),
        ("<?xml", None),
        ("", None),
    ],
)
def test_the_first_element_is_found_behind_all_that_may_stand_before_it(text, name):
    assert root_name(text) == name


def cut(document: bytes) -> bytes | None:
    """Keeps whole <p/> elements."""
    end = document.rfind(b"<p/>")
    return document[: end + 4] + b"</gpx>" if end >= 0 else None


def test_a_whole_document_has_no_damage():
    root, damage = parsed(TEXT.format("UTF-16"), "a.gpx", cut)
    assert (local_name(root), root[0].text, damage) == ("gpx", "Höhe", None)


def test_what_came_before_the_damage_is_kept_and_its_line_named():
    root, damage = parsed("<gpx>\n<p/>\n<p/>\n<p", "a.gpx", cut)
    assert (len(root), damage) == (2, 4)


def test_a_document_of_which_nothing_can_be_kept_is_refused():
    with pytest.raises(InputError, match="line 2: is not whole XML"):
        parsed("<gpx>\n<q", "a.gpx", cut)


@pytest.mark.parametrize(
    "head", ['<!DOCTYPE a [<!ENTITY b "c">]>', '<!DOCTYPE a SYSTEM "file:///etc/passwd">', "<!DOCTYPE a>"]
)
def test_document_types_and_entities_are_refused(head):
    with pytest.raises(InputError, match="can harm; not read"):
        parsed(f"{head}<a>&b;</a>", "a.gpx", cut)


def test_a_name_is_told_without_its_namespace():
    root, _ = parsed('<g:gpx xmlns:g="urn:x"><!-- c --><g:trk/></g:gpx>', "a.gpx", cut)
    assert (local_name(root), local_name(root[-1])) == ("gpx", "trk")


def read(text, name="track.gpx"):
    content = text if isinstance(text, bytes) else text.encode()
    assert importer.recognises(content, name)
    return importer.read_log(content, name, "0" * 64, None).required()


def codes(recording):
    return [finding.code for finding in recording.findings]


def facts(recording, code):
    return next(finding.facts for finding in recording.findings if finding.code == code)


@pytest.mark.parametrize(
    "encode",
    [
        lambda text: text.encode("utf-8-sig"),
        lambda text: text.replace("UTF-8", "UTF-16").encode("utf-16"),
        lambda text: text.encode("utf-16-be"),
        lambda text: text.replace("UTF-8", "ISO-8859-1").replace("test", "Müller").encode("latin-1"),
        lambda text: text.replace("test", "Müller").encode("latin-1"),
        lambda text: text.replace("UTF-8", "no-such-thing").encode(),
        lambda text: (
            text.replace("<trk", "<g:trk")
            .replace("</trk", "</g:trk")
            .replace("xmlns=", "xmlns:g=")
            .replace("<gpx", "<g:gpx")
            .replace("</gpx", "</g:gpx")
            .replace("<time", "<g:time")
            .replace("</time", "</g:time")
            .replace("<ele", "<g:ele")
            .replace("</ele", "</g:ele")
            .encode()
        ),
    ],
    ids=["mark", "utf-16", "utf-16 without mark", "latin-1", "wrong declaration", "unknown", "prefixed names"],
)
def test_every_encoding_gives_the_same_track(encode):
    """The same track comes out of every encoding, with and without a mark, and of prefixed names."""
    plain = gpx([point(i) for i in range(4)])
    assert read(encode(plain)).frame.equals(read(plain).frame)


def test_truncated_track_is_kept_up_to_the_damage():
    """A track cut off inside a point keeps all whole points before it, and says where it is damaged."""
    whole = gpx([point(i) for i in range(10)])
    cut = whole[: whole.index("<trkpt", whole.index("<trkpt") + 5 * len(point(0))) + 30]
    recording = read(cut)
    assert len(recording.frame) == cut.count("</trkpt>")
    told = facts(recording, "damaged-tail")
    assert (told["damage"], told["at"]) == ("line", cut.count("\n") + 1)


def test_junk_in_the_middle_ends_the_track():
    """Nothing after the first damage is used, even where it would look whole."""
    points = [point(i) for i in range(10)]
    points[6] = "\x01\x02<<<" + points[6]
    recording = read(gpx(points))
    assert len(recording.frame) == 6
    assert "damaged-tail" in codes(recording)


def test_deep_nesting_is_no_trap():
    """Elements nested a hundred thousand deep are read without exhausting the stack."""
    deep = "<a>" * 100_000 + "</a>" * 100_000
    assert len(read(gpx([point(0, inner=deep), point(1)])).frame) == 2


def test_other_xml_is_not_recognised():
    """XML with another first element is not taken, nor is text that only mentions GPX."""
    assert not importer.recognises(b'<?xml version="1.0"?><kml><gpx/></kml>', "track.gpx")
    assert not importer.recognises(b"time,speed\n<gpx>,1\n", "track.gpx")
    assert importer.recognises(b"\xef\xbb\xbf<!-- a --><!DOCTYPE gpx [<!ENTITY a 'b'>]><gpx>", "x")
