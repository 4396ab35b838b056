"""The text of a log in one form, whatever it was written in."""

import pytest

from ridelog.errors import InputError
from ridelog.importers.delimited.log_text import SNIFFED_BYTES, LogText, decoded, encoding_of


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_text_is_decoded_whatever_its_encoding(encoding):
    """The accents, the degree and the micro sign survive; the byte order mark does not."""
    text = "Zeit (µs);Höhe (m);Temperatur (°C)\n1;2;3\n"
    assert decoded(text.encode(encoding), "b.csv")[0].text == text


def test_binary_content_has_no_encoding():
    assert encoding_of(bytes(range(256)) * 4) is None
    assert encoding_of(b"\x0e\x10\x5e\x08" + bytes(40)) is None


def test_every_line_end_is_understood():
    assert decoded(b"a,b\r\n1,2\r3,4\n", "b.csv")[0].text == "a,b\n1,2\n3,4\n"


def test_an_encoding_that_does_not_fit_is_refused_at_its_byte():
    with pytest.raises(InputError, match=r"^b\.csv, byte 2: is not utf-8 text$"):
        decoded(b"a,\xff\n", "b.csv", "utf-8")


def test_a_log_in_its_usual_form_is_not_copied():
    content = "t;°C\n1;2\n".encode()
    assert decoded(content, "b.csv")[0].content is content


@pytest.mark.parametrize("encoding", [None, "utf-8", "UTF-8", "utf-8-sig"])
def test_mark_carriage_returns_and_null_characters_are_taken_off(encoding):
    content = b"\xef\xbb\xbft,I\r\n1,\x002\r\n"
    assert decoded(content, "b.csv", encoding)[0].content == b"t,I\n1,2\n"


@pytest.mark.parametrize("letter", ["a", "é", "\u20ac", "\U0001f6b2"])
def test_the_head_of_a_long_text_is_longer_than_what_is_looked_at_and_whole_letters(letter):
    text = "x" + letter * 300_000
    log = LogText.of(text)
    assert text.startswith(log.head)
    assert len(log.head) > SNIFFED_BYTES
    assert log.is_longer_than_its_head


@pytest.mark.parametrize("place", [10, 2**20 - 1, 2**20, 2**20 + 1, 2**21 + 5])
def test_a_letter_that_no_utf_8_has_is_seen_anywhere_and_one_that_lies_across_pieces_is_one(place):
    rest = b"b" * 50
    assert encoding_of(b"a" * place + "€".encode() + rest) == "utf-8"
    assert encoding_of(b"a" * place + b"\xe9" + rest) == "cp1252"


def test_lines_are_counted_from_one_and_found():
    log = LogText.of("a\nb\n\nc")
    assert [log.start_of(line) for line in (1, 2, 3, 4)] == [0, 2, 4, 5]
    assert list(log.lines_from(2)) == ["b", "", "c"]
