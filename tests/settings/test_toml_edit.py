"""Single keys set in a bike file."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
    ("text", "written"),
    [
        ("road.crr = 0.008 # dry\n", "road.crr = 0.0077 # dry\n"),
        ("road.wind_mps = 1.0\n[bike]\n", "road.wind_mps = 1.0\nroad.crr = 0.0077\n[bike]\n"),
        ("road = { crr = 0.008 } # dry\n", "road = { crr = 0.0077 } # dry\n"),
        ('[ road ]\n\t"crr"\t=  0.008\n', '[ road ]\n\t"crr"\t=  0.0077\n'),
        ("[road]\ncrr = 0.008", "[road]\ncrr = 0.0077\n"),
        ("# the grey one", "# the grey one\n\n[road]\ncrr = 0.0077\n"),
        ("\ufeff[road]\r\ncrr = 0.008\r\n", "\ufeff[road]\r\ncrr = 0.0077\r\n"),
        (
            '[bike]\nname = """\n[road]\ncrr = 0.1\n"""\n[road]\ncrr = 0.008\n',
            '[bike]\nname = """\n[road]\ncrr = 0.1\n"""\n[road]\ncrr = 0.0077\n',
        ),
    ],
    ids=["dotted", "dotted, new", "in one line", "quoted", "no last end of line", "comment alone", "mark", "in a text"],
)
def test_each_way_to_write_a_key_is_kept(text, written):
    """Dotted keys, tables in one line, keys in quotation marks, a byte order mark, texts over several lines."""
    assert with_values(text, {"road": {"crr": 0.0077}}) == written


@pytest.mark.parametrize("text", ["road = 5\n", "[[road]]\ncrr = 0.008\n", "[road]\ncrr = 1\n[road]\ncrr = 2\n"])
def test_a_file_in_another_form_is_refused_with_what_to_set(text):
    """A section that is no table, or that stands there twice."""
    with pytest.raises(BikeFileError, match="nothing was changed") as caught:
        with_values(text, {"road": {"crr": 0.0077}}, label="bike.toml")
    assert caught.value.lines()[1] == "hint: set [road] crr = 0.0077"


KEYS = {"bike": ("total_mass_kg", "name"), "road": ("cda_m2", "crr", "wind_mps"), "cost": ("currency",)}
COMMENTS = st.sampled_from(["", " # as weighed", "\t# [road] crr = 1", " # \u00e9\u2028"])


@st.composite
def bike_files(draw: st.DrawFn) -> str:
    """A bike file in one of the many ways in which it can be written."""
    lines = []
    for section in draw(st.permutations([name for name in KEYS if draw(st.booleans())])):
        keys = draw(st.permutations([key for key in KEYS[section] if draw(st.booleans())]))
        values = ['"[road]"' if key in ("name", "currency") else draw(st.floats(0, 99)) for key in keys]
        pairs = [f"{key} = {value}" for key, value in zip(keys, values, strict=True)]
        form = draw(st.sampled_from(["table", "inline"] if lines else ["dotted", "inline"]))
        if form == "table" or any(line.startswith("[") for line in lines):
            lines += [f"[{section}]{draw(COMMENTS)}", *(f"{pair}{draw(COMMENTS)}" for pair in pairs)]
        elif form == "dotted":
            lines += [f"{section}.{pair}{draw(COMMENTS)}" for pair in pairs]
        else:
            lines += [f"{section} = {{ {', '.join(pairs)} }}{draw(COMMENTS)}"]
        lines += [""] * draw(st.integers(0, 2)) + draw(st.sampled_from([[], ["# between"], ["  # between", ""]]))
    return draw(st.sampled_from(["\n", "\r\n"])).join(lines)


@given(text=bike_files(), crr=st.floats(0.001, 0.1), mass_kg=st.floats(30, 600))
def test_only_what_is_set_changes(text, crr, mass_kg):
    """Everything else says what it said, and each comment stands where it stood among the others."""
    written = with_values(text, {"road": {"crr": crr}, "bike": {"total_mass_kg": mass_kg}})
    before, after = tomllib.loads(text), tomllib.loads(written)
    assert after["road"].pop("crr") == pytest.approx(crr, rel=1e-3)
    assert after["bike"].pop("total_mass_kg") == pytest.approx(mass_kg, rel=1e-3)
    for section, key in (("road", "crr"), ("bike", "total_mass_kg")):
        before.setdefault(section, {}).pop(key, None)
    assert after == before
    assert comments_of(written) == comments_of(text)
    assert "\r\n" not in text or written.count("\n") == written.count("\r\n")


def comments_of(text: str) -> list[str]:
    """What stands behind the # of each line."""
    return [line.strip("\r").split("# ", 1)[1] for line in text.split("\n") if "# " in line]


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
