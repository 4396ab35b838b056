"""The summary as a tired rider reads it: sentences for what is known, words for what is not, no minus zero."""

import io
import re
import tomllib

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from tests.console.terminal import Terminal
from tests.places import SAMPLES
from tests.scenarios import once


def summary(tmp_path, header, rows):
    log = tmp_path / "ride.csv"
    log.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    assert (main(["measure", str(log)], out, err), err.getvalue()) == (Exit.OK, "")
    return out.getvalue()


def line(text, name):
    return next(" ".join(row.split()) for row in text.splitlines() if row.startswith(f"{name} "))


def test_what_is_not_known_is_told_once_and_in_order(tmp_path):
    """10 A at 50 V for 36 s are 0.1 Ah and 5 Wh; a log without a negative sample tells no return (by hand)."""
    text = summary(tmp_path, "time [s],battery current [A],battery voltage [V]", [f"{k},10,50" for k in range(37)])
    assert line(text, "energy").startswith("energy 5.00 ")
    assert line(text, "energy").endswith("drawn; we do not know what came back")
    assert line(text, "charge").startswith("charge 0.100 ")
    assert line(text, "road") == "road distance not known, height not known"
    assert line(text, "braking") == "braking 0 events"


def test_a_ride_that_gives_more_than_it_draws_gains_no_distance(tmp_path):
    """With nothing consumed, no distance can be bought back by what returned: the line leaves it out."""
    rows = [f"{k},{1 if k < 60 else -2},50,18" for k in range(121)]
    text = summary(tmp_path, "time [s],net discharge current [A],battery voltage [V],speed [km/h]", rows)
    assert line(text, "use").endswith(" net")
    assert "is good for" not in line(text, "use")
    assert line(text, "braking") == "braking 1 event; we do not know how much energy was available"


@pytest.mark.parametrize(
    ("first_m", "step_m", "told"), [(0, 0.25, "100 m up, 0 m down"), (100, -0.25, "0 m up, 100 m down")]
)
def test_a_ramp_goes_one_way_only(tmp_path, first_m, step_m, told):
    """400 s at 5 m/s on a 5 % ramp are 100 m of height, all of it one way (by hand)."""
    rows = [f"{k},{2 if k % 2 else -2},50,18,{first_m + step_m * k}" for k in range(401)]
    text = summary(tmp_path, "time [s],battery current [A],battery voltage [V],speed [km/h],altitude [m]", rows)
    assert line(text, "road") == f"road 2.00 km, {told}"


def measured_sample(slug, bike):
    about = tomllib.loads((SAMPLES / slug / "about.toml").read_text(encoding="utf-8"))
    files = [str(SAMPLES / slug / name) for name in about["files"]]
    out, err = io.StringIO(), io.StringIO()
    assert main(["measure", *files, "--bike", str(bike)], out, err) in (Exit.OK, Exit.DANGER)
    assert err.getvalue() == ""
    return " ".join(out.getvalue().split())


def test_a_ride_ends_with_what_it_was_worth_and_what_never_replaces_a_brake():
    told = measured_sample("commute", SAMPLES / "commute" / "bike.toml")
    block = told[told.index("Is it worth it?") :]
    for words in (
        "Wh/km (-0.15 to 0.61) at the battery",
        "at the wheel, would use up all that came back",
        "on a full battery, ridden like this",
        "EUR",
        "full charges",
        "friction brakes",
    ):
        assert words in block


def test_a_motor_behind_a_freewheel_takes_the_share_out_of_the_headline(tmp_path):
    """The commute's own log, with a motor in the bike file that cannot have done it."""
    bike = tmp_path / "bike.toml"
    own = (SAMPLES / "commute" / "bike.toml").read_text(encoding="utf-8")
    bike.write_text(own.replace('"direct-drive"', '"mid-drive"'), encoding="utf-8")
    told = measured_sample("commute", bike)
    assert "went into the battery, which this bike's motor cannot have returned by braking." in told[:200]
    assert "gave back the most" not in told
    assert "[return-without-regen]" in told
    assert "This bike cannot regenerate" in told
    assert "it needs a motor that turns with the wheel" in told


def test_a_ride_that_ends_lower_warns_of_what_it_says_of_others():
    told = measured_sample("winter", SAMPLES / "winter" / "bike.toml")
    assert "[recovered-unusually-high]" in told
    assert "no range and no year is worked out from this ride: it ends 83 m lower than it starts." in told
    assert " on a full battery" not in told


def test_a_ride_without_height_says_what_its_offer_takes(tmp_path):
    """A mid-drive's log has nothing to return; without height nobody can say what the road would have given."""
    log, bike = tmp_path / "ride.csv", tmp_path / "bike.toml"
    header = "time [s],battery current [A],battery voltage [V],speed [km/h]"
    log.write_text("\n".join([header, *(f"{k},5,50,18" for k in range(121))]) + "\n", encoding="utf-8")
    bike.write_text('[motor]\nkind = "mid-drive"\n', encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    assert main(["measure", str(log), "--bike", str(bike)], out, err) == Exit.OK
    assert line(out.getvalue(), "available").endswith("that takes speed and height")


def test_a_log_that_cannot_show_a_return_is_told_what_braking_offered():
    told = measured_sample("no-return", SAMPLES / "no-return" / "bike.toml")
    unsure = "We cannot say whether regeneration gained or lost energy on this ride: "
    assert f"{unsure}we do not know how much came back." in told
    assert "would return" in told


def test_a_danger_comes_before_any_praise():
    """The winter ride's charge path opened: exit status 1, its share told after that, and the danger only once.

    So is that nobody knows whether charge may enter its pack through these terminals.
    """
    folder = SAMPLES / "winter"
    out, err = io.StringIO(), io.StringIO()
    files = [str(folder / name) for name in ("battery.csv", "track.gpx")]
    assert main(["measure", *files, "--bike", str(folder / "bike.toml")], out, err) == Exit.DANGER
    text = out.getvalue()
    assert text.startswith("danger: ")
    assert text.count("charge-cut-out") == 1
    assert text.index("charge-cut-out") < text.index("[charge-path]") < text.index("came back")
    assert text.count("[charge-path]") == 1
    assert "resistance 0.210 Ω" in line(text, "battery")


@pytest.fixture(scope="module")
def commute():
    """The answer of the first sample ride, its findings and assumptions included."""
    from dataclasses import replace

    import ridelog

    folder = SAMPLES / "commute"
    ride = ridelog.load_ride([folder / "controller.csv", folder / "track.gpx"], bike=folder / "bike.toml")
    answer = ridelog.measure(ride)
    short = answer.series.iloc[:50]
    return replace(answer, series=short)


METRIC_UNITS = re.compile(r"\b(km/h|Wh/km|km|m/s|m|N|N m|kg|°C)\b")
IMPERIAL_UNITS = re.compile(r"\b(mph|Wh/mi|mi|ft/s|ft|lbf|lbf ft|lb|°F)\b")


def shown(answer, what, style, monkeypatch, width=120):
    from ridelog.console import answers as console

    monkeypatch.setenv("COLUMNS", str(width))
    stream = Terminal()
    if what == "summary":
        console.print_summary(answer, stream, style)
    elif what == "budget":
        console.print_budget(answer, stream, style)
    else:
        console.print_table(answer, what, stream, style)
    return re.sub(r"\x1b\[[0-9;]*m", "", stream.getvalue())


@pytest.mark.parametrize("what", ["summary", "events", "hills", "bands", "ledger", "samples", "budget"])
def test_one_switch_turns_all_that_people_read_imperial(commute, what, monkeypatch):
    """Every table and the summary: where one style shows metric units, the other shows as many imperial ones."""
    from ridelog.tell.numbers import IMPERIAL, METRIC

    metric, imperial = (shown(commute, what, style, monkeypatch) for style in (METRIC, IMPERIAL))
    assert IMPERIAL_UNITS.findall(metric) == []
    assert METRIC_UNITS.findall(imperial) == []
    assert bool(METRIC_UNITS.findall(metric)) == bool(IMPERIAL_UNITS.findall(imperial)) == (what not in ("budget",))


@pytest.mark.parametrize("what", ["summary", "events", "hills", "bands", "ledger", "samples", "budget"])
def test_everything_fits_a_terminal_of_80_columns(commute, what, monkeypatch):
    """No line is longer, and no number of a table is cut short."""
    from ridelog.tell.numbers import METRIC

    text = shown(commute, what, METRIC, monkeypatch, width=80)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "…" not in text


def test_csv_and_json_stay_si_whatever_people_read(monkeypatch):
    """Scripts get the same bytes from either switch."""
    once(monkeypatch)
    files = [str(SAMPLES / "commute" / name) for name in ("controller.csv", "track.gpx")]
    for form in (["--json"], ["--table", "hills"], ["--table", "bands"]):
        told = []
        for units in ("metric", "imperial"):
            out = io.StringIO()
            assert main(["measure", *files, *form, "--units", units], out, io.StringIO()) == Exit.OK
            told.append(out.getvalue())
        assert told[0] == told[1]
    assert "length_m" in main_output(files, "--table", "hills")


def main_output(files, *options):
    out = io.StringIO()
    main(["measure", *files, *options], out, io.StringIO())
    return out.getvalue()


def test_a_terminal_too_narrow_for_a_table_loses_its_least_needed_columns_first(commute, monkeypatch):
    from ridelog.tell.numbers import METRIC

    wide, narrow = (shown(commute, "hills", METRIC, monkeypatch, width=width) for width in (160, 80))
    for head in ("length", "at", "grade"):
        assert head in wide
    assert "length" not in narrow
    for head in ("height", "drawn", "available", "returned", "captured"):
        assert head in narrow


def test_the_summary_says_what_each_kind_of_braking_gave(commute, monkeypatch):
    """The rows of the table of kinds have a word that a rider would say."""
    from ridelog.tell.numbers import METRIC

    text = shown(commute, "summary", METRIC, monkeypatch)
    for word in ("stop", "slowing", "descent"):
        assert word in text


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("what", ["summary", "events", "hills", "bands", "samples"])
def test_no_number_or_head_is_broken_where_the_terminal_is_narrow(commute, what, units, monkeypatch):
    """What stands in a narrow table stands so in the wide one: 33 → 17 never becomes 33 → 1."""
    from ridelog.tell.numbers import STYLES

    wide, narrow = (shown(commute, what, STYLES[units], monkeypatch, width=width) for width in (400, 80))
    paths = " ".join(source.path for source in commute.sources)
    narrow = re.sub(r"\d+ more columns? do.*", "", narrow, flags=re.DOTALL)
    told = {word for word in re.split(r"[─\s]+", narrow) if word not in paths}
    assert told <= set(re.split(r"[─\s]+", wide))
    assert re.findall(r"\d+ → \d+", narrow) == re.findall(r"\d+ → \d+", wide)


@pytest.mark.parametrize("width", [30, 40])
@pytest.mark.parametrize("what", ["summary", "events", "hills", "bands", "budget"])
def test_where_no_table_fits_each_row_stands_by_itself_and_no_number_is_cut(commute, what, width, monkeypatch):
    """Every quantity of the wide table is there in full, with its unit, and no row has lost its name."""
    from ridelog.tell.numbers import METRIC

    wide, narrow = (shown(commute, what, METRIC, monkeypatch, width=each) for each in (400, width))
    assert max(len(line) for line in narrow.splitlines()) <= width
    assert "…" not in narrow
    joined = " ".join(narrow.split())
    for told in re.findall(r"-?\d[\d.]* ±[\d.]+|\d[\d.]* \(-?[\d.]+ to [\d.]+\)|\d+ → \d+", wide):
        assert told in joined
    for name in re.findall(r"^ (Hill \d, \w+|0:\d\d:\d\d|\d+ to \d+ km/h)", wide, flags=re.MULTILINE):
        assert name in joined


def test_hills_of_which_nothing_is_known_are_no_table(commute, monkeypatch):
    """A track alone knows of no energy: no list of bare names under "Hills ridden up and down"."""
    from dataclasses import replace

    from ridelog.tell.numbers import METRIC

    hills = tuple(replace(hill, drawn_wh=None, returned_wh=None, recovered_pct=None) for hill in commute.hills)
    pairs = tuple(replace(pair, recovered_pct=None) for pair in commute.hill_pairs)
    text = shown(replace(commute, hills=hills, hill_pairs=pairs), "summary", METRIC, monkeypatch)
    assert "Hills ridden up and down" in shown(commute, "summary", METRIC, monkeypatch)
    assert "Hills ridden up and down" not in text


HOSTILE = "\x1b[31mred\u202e\x9b1m\x07"
UNSEEN = re.compile(r"[^\n -~\u00a0-\u200a\u2010-\u2027\u2030-\u205e\u2070-\ufffd]")


def hostile_log(folder, header="other"):
    """A log whose last column is called what a terminal would obey, and a bike file with such a currency and name."""
    log, bike = folder / "ride.csv", folder / "bike.toml"
    rows = "".join(f"{k},{k % 7 - 2},{48 - (k % 7) / 50},{20 + k % 5},{k % 9}\n" for k in range(400))
    units = "time [s],battery current [A],battery voltage [V],speed [km/h]"
    log.write_text(f"{units},{HOSTILE} {header}\n{rows}", encoding="utf-8")
    word = "".join(f"\\u{ord(letter):04x}" for letter in HOSTILE)
    cost = f'currency = "{word}"\nprice_per_kwh = 0.3\nregen_premium = 100\nkm_per_year = 3000\n'
    bike.write_text(f'[bike]\nname = "{word}"\n[cost]\n{cost}', encoding="utf-8")
    return log, bike


@pytest.mark.parametrize("on_terminal", [True, False])
@pytest.mark.parametrize("command", ["columns", "measure", "measure --json", "measure --table hills", "coastdown"])
@pytest.mark.parametrize("header", ["other", "battery current [A]", "battery temperature"])
def test_what_a_log_holds_cannot_command_the_terminal(command, header, on_terminal, tmp_path):
    """Colours are ours; nothing else that is no text reaches out or err, whether the log is read or refused."""
    log, bike = hostile_log(tmp_path, header)
    out, err = (Terminal(), Terminal()) if on_terminal else (io.StringIO(), io.StringIO())
    name, *options = command.split()
    given = [str(log)] if name == "columns" else [str(log), "--bike", str(bike)]
    main([name, *given, *options], out, err)
    said = re.sub(r"\x1b\[[0-9;]*m|\x1b\[\?25[lh]|\x1b\[[12]?[AK]|\r", "", out.getvalue() + err.getvalue())
    if "red" in said:
        assert "\x1b[31mred" not in out.getvalue() + err.getvalue()
    assert UNSEEN.findall(said) == []


def test_a_pipe_gets_no_trailing_blanks_and_names_in_one_piece(tmp_path):
    """Whatever is printed: the summary with its tables, and the columns of a log at a long path."""
    folder = tmp_path / ("d" * 150) / ("e" * 100)
    folder.mkdir(parents=True)
    log, bike = hostile_log(folder)
    for command in (
        ["measure", str(log), "--bike", str(bike)],
        ["columns", str(log)],
        ["measure", str(log), "--budget"],
    ):
        out = io.StringIO()
        assert main(command, out, io.StringIO()) == Exit.OK
        assert [line for line in out.getvalue().splitlines() if line != line.rstrip()] == []
        if "--budget" not in command:
            assert str(log) in out.getvalue()
