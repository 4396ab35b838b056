"""Opening and unpacking: what comes in is bounded, hashed, and refused with a sentence."""

import bz2
import gzip
import hashlib
import io
import os
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.errors import InputError
from ridelog.importers.unpack import Bounds, unpacked

LOG = b"time,speed\n0,1\n1,2\n"


def zipped(members, compression=zipfile.ZIP_DEFLATED):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", compression) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return target.getvalue()


def unpack(content, name="log.csv", **bounds):
    return unpacked(io.BytesIO(content), name=name, bounds=Bounds(**bounds))


def test_plain_file_comes_as_it_is(tmp_path):
    """A plain file comes out as it is, under its path, with the hash of its bytes."""
    path = tmp_path / "log.csv"
    path.write_bytes(LOG)
    for source in (path, str(path)):
        (log,) = unpacked(source)
        assert (log.name, log.content, log.sha256) == (str(path), LOG, hashlib.sha256(LOG).hexdigest())


def test_open_file_is_called_by_its_own_name(tmp_path):
    """An open file is called by its own name, and an upload without one by a word."""
    path = tmp_path / "log.csv"
    path.write_bytes(LOG)
    with path.open("rb") as stream:
        assert unpacked(stream)[0].name == str(path)
    assert unpacked(io.BytesIO(LOG))[0].name == "the uploaded file"


def test_gzip_keeps_the_hash_of_what_was_given():
    """A gzip file, also of several parts, is unpacked, and its hash is of the bytes as given."""
    given = gzip.compress(LOG) + gzip.compress(b"2,3\n")
    (log,) = unpack(given, "log.csv.gz")
    assert (log.name, log.content) == ("log.csv.gz", LOG + b"2,3\n")
    assert log.sha256 == hashlib.sha256(given).hexdigest()


@pytest.mark.parametrize("compression", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_zip_gives_each_member(compression):
    """Each member of an archive comes out under the archive's name; hidden files and folders do not."""
    members = {"day/": b"", "day/log.csv": LOG, "track.gpx": b"<gpx/>", "__MACOSX/._track.gpx": b"x", ".DS_Store": b"x"}
    logs = unpack(zipped(members, compression), "ride.zip")
    assert {log.name: log.content for log in logs} == {"ride.zip/day/log.csv": LOG, "ride.zip/track.gpx": b"<gpx/>"}
    assert len({log.sha256 for log in logs}) == 1


def test_bound_on_size_counts_what_comes_out():
    """What is allowed in all is allowed to the byte, over all members together."""
    members = {"a.csv": LOG, "b.csv": LOG}
    assert len(unpack(zipped(members), largest_bytes=2 * len(LOG) + 300)) == 2
    big = {name: os.urandom(300) for name in ("a", "b")}
    content = zipped(big, zipfile.ZIP_STORED)
    assert len(unpack(content, largest_bytes=len(content))) == 2
    with pytest.raises(InputError, match=r"^log.csv: is larger than"):
        unpack(content, largest_bytes=len(content) - 1)
    with pytest.raises(InputError, match=r"^log.csv: unpacks to more than 0.04 MB"):
        unpack(zipped({"a": bytes(30_000), "b": bytes(30_000)}), largest_bytes=40_000)


def test_bound_on_ratio_spares_small_files():
    """A file that unpacks to far more than its size is refused, unless it is small in any case."""
    zeros = bytes(100_000)
    assert len(unpack(gzip.compress(zeros))[0].content) == 100_000
    with pytest.raises(InputError, match="unpacks to more than 50 times its size") as caught:
        unpack(gzip.compress(zeros), largest_ratio=50, free_bytes=10_000)
    assert "really a ride's log" in caught.value.hint


def test_bound_on_members():
    """An archive with too many entries is refused with their number."""
    with pytest.raises(InputError, match="holds 4 entries, and 3 are allowed"):
        unpack(zipped({f"{i}.csv": LOG for i in range(4)}), most_members=3)


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"", "is empty"),
        (gzip.compress(b"", mtime=0), "is empty once unpacked"),
        (gzip.compress(LOG, mtime=0)[:-9], r"the gzip file is damaged or cut off \(Compressed file ended"),
        (gzip.compress(LOG, mtime=0)[:15] + b"\xff" * 20, "the gzip file is damaged or cut off"),
        (zipped({"log.csv": LOG})[:-5], "the zip archive is damaged or cut off"),
        (zipped({}), "is an archive without a file in it"),
        (zipped({"a/": b""}), "is an archive without a file in it"),
        (zipped({"in.zip": zipped({"log.csv": LOG})}), "log.csv/in.zip: is an archive inside an archive"),
        (zipped({"in.gz": gzip.compress(LOG, mtime=0)}), "log.csv/in.gz: is an archive inside an archive"),
        (zipped({"log.csv": LOG}, zipfile.ZIP_BZIP2), "log.csv/log.csv: is compressed in a way that is not read here"),
        (zipped({"log.csv": LOG}, zipfile.ZIP_LZMA), "log.csv/log.csv: is compressed in a way that is not read here"),
        (gzip.compress(gzip.compress(LOG, mtime=0), mtime=0), "log.csv: is an archive inside an archive"),
    ],
)
def test_unusable_wrapping_is_refused_with_its_cause(content, what):
    """An empty, damaged or nested file is refused with a sentence that says which."""
    with pytest.raises(InputError, match=what):
        unpack(content)


def test_damaged_member_is_named():
    """A member whose bytes were changed is refused under its own name."""
    content = bytearray(zipped({"log.csv": bz2.compress(LOG)}, zipfile.ZIP_STORED))
    content[45] ^= 0xFF
    with pytest.raises(InputError, match=r"ride.zip/log.csv: the zip archive is damaged or cut off \(Bad CRC-32"):
        unpack(bytes(content), "ride.zip")


def test_encrypted_member_is_refused():
    """A member that its archive marks as encrypted is refused."""
    content = bytearray(zipped({"log.csv": LOG}, zipfile.ZIP_STORED))
    content[6] |= 1  # flag in the local header, and in the directory, as the ZIP specification places them
    content[content.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(InputError, match=r"ride.zip/log.csv: is encrypted"):
        unpack(bytes(content), "ride.zip")


def test_path_that_cannot_be_read_is_an_error_for_people(tmp_path):
    """A missing file, a folder, a forbidden file and an impossible name each have their sentence."""
    with pytest.raises(InputError, match="there is no such file"):
        unpacked(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is a folder"):
        unpacked(tmp_path)
    with pytest.raises(InputError, match="cannot be opened: embedded null"):
        unpacked("a\0b")
    with pytest.raises(InputError, match="cannot be opened: File name too long"):
        unpacked("x" * 5000)


def test_forbidden_file_is_an_error_for_people(tmp_path, monkeypatch):
    """A file that may not be read is refused with that reason."""

    def forbidden(*_arguments, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.open", forbidden)
    with pytest.raises(InputError, match="may not be read by you"):
        unpacked(tmp_path / "log.csv")


def test_text_stream_is_refused():
    """A file opened as text is refused with the way to open it."""
    with pytest.raises(InputError, match="was opened as text") as caught:
        unpacked(io.StringIO("time,speed"))
    assert '"rb"' in caught.value.hint


def test_names_cannot_disturb_a_terminal():
    """Control characters in the names of files and members are replaced."""
    logs = unpack(zipped({"a\x1b[2J.csv": LOG}), "b\n.zip")
    assert logs[0].name == "b�.zip/a�[2J.csv"


ARCHIVES = (
    zipped({"log.csv": LOG, "b/ü.gpx": b"<gpx/>"}),
    zipped({"log.csv": LOG}, zipfile.ZIP_STORED),
    gzip.compress(LOG, mtime=0),
)


@settings(max_examples=300)
@given(whole=st.sampled_from(ARCHIVES), data=st.data())
def test_damaged_wrapping_gives_logs_or_an_error_for_people(whole, data):
    """Whatever is cut or overwritten in an archive, the answer is its logs or an error with a sentence."""
    content = bytearray(whole[: data.draw(st.integers(1, len(whole)))])
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), max_size=3)):
        content[place] = data.draw(st.integers(0, 255))
    try:
        said = [log.name for log in unpack(bytes(content), "x")]
    except InputError as error:
        said = [error.message]
    assert said
    assert all(text.startswith("x") and text.isprintable() for text in said)
