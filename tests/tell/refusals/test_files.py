"""Files that cannot be opened, unpacked or recognised, in words; whole files are in tests/broken."""

import pytest

from ridelog.tell.refusals import files


def test_sizes_are_in_megabytes():
    assert files.too_large("a.csv", 256_000_000).what == "is larger than 256 MB"
    assert (
        files.larger_than_a_ride("a.fit", 41_600_000, 25_500_000, "FIT").what
        == "holds 42 MB of FIT, and 25.5 MB are allowed"
    )
    assert files.unpacks_too_far("a.gz", 200.0).what == "unpacks to more than 200 times its size"


def test_what_damaged_an_archive_cannot_disturb_a_terminal():
    assert "\x1b" not in files.damaged("a.zip", "zip archive", "bad \x1b[31m name").lines()[0]


@pytest.mark.parametrize(
    ("content", "shown"),
    [
        (b"", "nothing: it is empty"),
        (b" \r\n\t ", "blanks"),
        (b"hello  ride\nmore", "“hello ride more”"),
        (b"x" * 90, "“" + "x" * 40 + "…”"),
        ("é".encode() * 30, "“" + "é" * 20 + "…”"),
        (b"\x00\x01\xff", "the bytes 00 01 FF"),
        (bytes(range(20)), "the bytes 00 01 02 03 04 05 06 07 08 09 0A 0B 0C 0D 0E 0F …"),
    ],
)
def test_the_first_bytes_are_text_or_numbers(content, shown):
    assert files.first_bytes(content, 40) == shown


def test_other_members_that_nobody_takes_are_counted():
    told = files.not_recognised("a.zip/b", "blanks", 2, ["GPX", "FIT"])
    assert "(nor are 2 other members)" in told.what
    assert "(nor is 1 other member)" in files.not_recognised("a.zip/b", "“x”", 1, ["GPX"]).what
    assert told.hint == "ridelog looks for GPX; FIT"
