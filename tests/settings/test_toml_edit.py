"""Single keys set in a bike file."""

import tomllib

import pytest

from ridelog.errors import BikeFileError, RidelogError
from ridelog.settings.bike import read_bike
from ridelog.settings.toml_edit import with_values, write_values

FILE = """# the grey one
[bike]
total_mass_kg = 112.0   # with the bag

[road]
cda_m2 = 0.6 # guessed
wind_mps = 0.0

[cost]
currency = "EUR"
"""


def test_a_key_that_stands_there_gets_the_new_value_and_keeps_its_comment():
    """Nothing else moves."""
    assert with_values(FILE, {"road": {"cda_m2": 0.5512}}) == FILE.replace("0.6 # guessed", "0.5512 # guessed")


def test_a_new_key_goes_to_the_end_of_its_section():
    """The blank line before the next section stays."""
    written = with_values(FILE, {"road": {"crr": 0.0077}})
    assert written == FILE.replace("wind_mps = 0.0\n", "wind_mps = 0.0\ncrr = 0.0077\n")


def test_a_new_section_goes_to_the_end_of_the_file():
    """A file without [road] gets it."""
    assert with_values('[bike]\nname = "x"\n', {"road": {"crr": 0.0077}}) == (
        '[bike]\nname = "x"\n\n[road]\ncrr = 0.0077\n'
    )
    assert with_values("", {"road": {"crr": 0.0077}}) == "[road]\ncrr = 0.0077\n"


def test_the_ends_of_lines_stay_as_they_are():
    """A file from another system keeps them."""
    written = with_values(FILE.replace("\n", "\r\n"), {"road": {"crr": 0.0077}})
    assert written.count("\r\n") == written.count("\n") == FILE.count("\n") + 1


@pytest.mark.parametrize(
    "text",
    [
        "road.crr = 0.008\n",
        "road = { crr = 0.008 }\n",
        '[bike]\nname = """\n[road]\ncrr = 0.1\n"""\n[road]\ncrr = 0.008\n',
    ],
)
def test_a_file_in_another_form_is_refused_with_what_to_set(text):
    """Dotted keys, tables in one line and strings over several lines are beyond an edit of single lines."""
    assert tomllib.loads(text)["road"] == {"crr": 0.008}
    with pytest.raises(BikeFileError) as caught:
        with_values(text, {"road": {"crr": 0.0077}}, label="bike.toml")
    assert caught.value.lines()[1] == "hint: set [road] crr = 0.0077"


def test_a_new_file_is_the_given_one_with_the_values_set(tmp_path):
    """The base stays as it was."""
    base, target = tmp_path / "base.toml", tmp_path / "new.toml"
    base.write_text(FILE, encoding="utf-8")
    write_values(str(target), {"road": {"cda_m2": 0.55, "cda_limit_m2": 0.07}}, base=str(base))
    assert base.read_text(encoding="utf-8") == FILE
    bike = read_bike(target)
    assert (bike.road.cda_m2, bike.road.cda_limit_m2, bike.bike.total_mass_kg) == (0.55, 0.07, 112.0)
    assert "# with the bag" in target.read_text(encoding="utf-8")


def test_an_existing_file_keeps_what_is_in_it_whatever_the_base(tmp_path):
    """The base is for a file that is not there yet."""
    base, target = tmp_path / "base.toml", tmp_path / "old.toml"
    base.write_text('[bike]\nname = "base"\n', encoding="utf-8")
    target.write_text(FILE, encoding="utf-8")
    write_values(str(target), {"road": {"crr": 0.0077}}, base=str(base))
    assert read_bike(target).bike.name is None
    assert [path.name for path in tmp_path.iterdir()] == ["base.toml", "old.toml"] or len(list(tmp_path.iterdir())) == 2


def test_a_file_that_is_no_bike_file_is_left_alone(tmp_path):
    """A log given by mistake is not replaced."""
    target = tmp_path / "ride.csv"
    target.write_text("time_s,current_a\n0,1\n", encoding="utf-8")
    with pytest.raises(BikeFileError):
        write_values(str(target), {"road": {"crr": 0.0077}})
    assert target.read_text(encoding="utf-8") == "time_s,current_a\n0,1\n"


def test_a_value_that_a_bike_file_does_not_allow_changes_nothing(tmp_path):
    """What is written must be readable again."""
    target = tmp_path / "bike.toml"
    target.write_text(FILE, encoding="utf-8")
    with pytest.raises(BikeFileError, match="crr"):
        write_values(str(target), {"road": {"crr": 0.5}})
    assert target.read_text(encoding="utf-8") == FILE
    assert len(list(tmp_path.iterdir())) == 1


def test_a_folder_that_is_not_there_is_one_line(tmp_path):
    """Name, cause and what to do."""
    with pytest.raises(RidelogError, match="cannot be written") as caught:
        write_values(str(tmp_path / "none" / "bike.toml"), {"road": {"crr": 0.0077}})
    assert caught.value.hint is not None
