"""Stores that cannot be used, in words."""

import errno

from ridelog.tell.refusals import store as refusals


def test_a_full_disk_is_told_with_what_can_be_done():
    error = OSError(errno.ENOSPC, "No space left on device")
    for kept, whole in ((True, "; what it held is still there"), (False, "")):
        assert refusals.cannot_be("written", "store", error, kept=kept).lines() == [
            f"store: cannot be written: no space left on device{whole}",
            "hint: make room, or write to another disk",
        ]


def test_an_error_without_words_is_told_by_its_kind_and_one_of_many_lines_in_one():
    assert refusals.cannot_be("read", "s3://b", ValueError()).message == "s3://b: cannot be read: valueError"
    assert refusals.cannot_be("read", "s3://b", ValueError("No\n key")).message == "s3://b: cannot be read: no key"


def test_a_missing_package_is_told_with_the_extra_that_brings_it():
    assert refusals.package_missing("gs://b", "gcsfs", "gs").hint == "pip install 'ridelog[gs]'"
    assert refusals.package_missing("sftp://b", "paramiko", None).hint == "pip install paramiko"
