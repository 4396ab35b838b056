"""What a rider calls the hills of a store, and slips in that file."""

import pytest

from ridelog.errors import HillNamesError
from ridelog.settings.hill_names import read_hill_names, write_hill_name


def test_names_are_read_by_identifier_and_no_file_names_none(tmp_path):
    path = tmp_path / "hills.toml"
    assert read_hill_names(path) == {}
    path.write_text('[hill]\n3f2a91c0 = "Mill Lane"\n01234567 = "Up to school"\n')
    assert read_hill_names(path) == {"3f2a91c0": "Mill Lane", "01234567": "Up to school"}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[hills]\n", "unknown key hills"),
        ("[hill]\n3f2a91c0 = 3\n", "line 2: hill.3f2a91c0 = 3"),
        ("[hill\n", "hills.toml"),
    ],
)
def test_a_slip_is_told_with_its_place(tmp_path, text, told):
    path = tmp_path / "hills.toml"
    path.write_text(text)
    with pytest.raises(HillNamesError) as caught:
        read_hill_names(path)
    assert told in caught.value.message


def test_a_name_is_written_beside_what_stands_there_and_taken_away(tmp_path):
    path = tmp_path / "hills.toml"
    write_hill_name(path, "3f2a91c0", 'Mill "Lane"\\')
    path.write_text("# ours\n" + path.read_text())
    write_hill_name(path, "00000000", "Öre")
    assert read_hill_names(path) == {"3f2a91c0": 'Mill "Lane"\\', "00000000": "Öre"}
    write_hill_name(path, "3f2a91c0", "")
    write_hill_name(path, "11111111", "")
    assert read_hill_names(path) == {"00000000": "Öre"}
    assert path.read_text(encoding="utf-8").startswith("# ours\n")


@pytest.mark.parametrize(
    "text",
    [
        '\ufeff[hill]\r\n3f2a91c0 = "Mill Lane"  # up\r\n',
        'hill = {3f2a91c0 = "Mill Lane"}',
        'hill.3f2a91c0 = "Mill Lane"\n',
        "[hill]\n'3f2a91c0' = \"Mill Lane\"",
    ],
)
def test_a_name_is_written_in_whatever_form_the_file_has(tmp_path, text):
    """The ends of lines, a byte order mark and comments stay."""
    path = tmp_path / "hills.toml"
    path.write_bytes(text.encode())
    write_hill_name(path, "00000000", "Öre")
    assert read_hill_names(path) == {"3f2a91c0": "Mill Lane", "00000000": "Öre"}
    write_hill_name(path, "00000000", "")
    assert path.read_bytes().decode().strip() == text.strip()


def test_a_file_that_no_name_can_be_set_in_is_left_as_it_is(tmp_path):
    """A dotted key whose last part stands in quotation marks: what writes the file does not take it away."""
    path = tmp_path / "hills.toml"
    path.write_text('hill."00000000" = "x"\n')
    with pytest.raises(HillNamesError, match="nothing was changed") as caught:
        write_hill_name(path, "00000000", "")
    assert caught.value.hint == "below [hill], set 00000000"
    assert path.read_text() == 'hill."00000000" = "x"\n'
