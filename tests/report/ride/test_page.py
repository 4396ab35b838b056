"""The document of a ride: every number as in the JSON, the same bytes again, nothing from outside, no place unasked."""

import re
from dataclasses import replace

import pytest

from ridelog.findings import Finding
from ridelog.report.making import GivenFile, Making, short_names
from ridelog.report.ride.page import renamed, ride_page, without_places
from ridelog.tell.numbers import IMPERIAL, METRIC, PAGE, typeset
from tests.report.reading import Document, numbers_in
from tests.scenarios import SLUGS, sample_answer, simulated_answer

# The unit in a column's head -> how many of it a unit of the JSON is (exact definitions, NIST SP 811, appendix B).
FACTORS = {
    ("m", "m"): 1, ("m", "ft"): 1 / 0.3048, ("m", "km"): 1e-3, ("m", "mi"): 1 / 1609.344, ("wh", "Wh"): 1,
    ("pct", "%"): 1, ("s", "s"): 1, ("mps", "km/h"): 3.6, ("mps", "mph"): 3600 / 1609.344, ("km", "Wh/km"): 1,
    ("km", "Wh/mi"): 1.609344, ("ah", "Ah"): 1, ("ohm", "Ω"): 1, ("v", "V"): 1, ("a", "A"): 1,
}  # fmt: skip
STYLES = {
    "metric": PAGE,
    "imperial": typeset(IMPERIAL),
    "comma": typeset(replace(METRIC, point=",")),
}


def factor(name, unit):
    return FACTORS[name.rpartition("_")[2], unit]


def assert_told(cell, quantity, times, point="."):
    """A cell says a quantity of the JSON, and its interval, to the digits that it shows."""
    value, small = cell
    if quantity is None:
        assert value in ("–", "")
        return
    if not isinstance(quantity, dict):
        quantity = {"value": quantity, "low95": None, "high95": None}
    (shown, half), *rest = numbers_in(value, point)
    assert shown == pytest.approx(quantity["value"] * times, abs=1.0001 * half)
    bounds = numbers_in(small.split(" | ")[1] if " | " in small and " to " in small else small, point)
    if small and " to " in small:
        for (bound, its_half), key in zip(bounds, ("low95", "high95"), strict=True):
            assert bound == pytest.approx(quantity[key] * times, abs=1.0001 * its_half)
    elif rest and "±" in value:
        half_width = (quantity["high95"] - quantity["low95"]) / 2 * times
        assert rest[0][0] == pytest.approx(half_width, abs=1.0001 * rest[0][1])
    elif rest:
        for (bound, its_half), key in zip(rest, ("low95", "high95"), strict=True):
            assert bound == pytest.approx(quantity[key] * times, abs=1.0001 * its_half)


def expected(answer):
    """Table -> rows of column -> name and quantity, straight from the JSON."""
    data = answer.to_dict()
    pairs = {pair["down"]: pair["recovered_pct"] for pair in data["hill_pairs"]}
    missed = {each["start_s"]: each["missed_wh"] for each in (data["ledger"] or {"events": []})["events"]}
    energies = ("available", "returned", "missed", "captured")

    def down(hill, key):
        return hill[key] if hill["direction"] == "down" else None

    def named(record, *keys, **others):
        return {
            key: (name, record[name]) for key in keys for name in (f"{key}_pct" if key == "captured" else f"{key}_wh",)
        } | others

    ledger = data["ledger"]
    return {
        "t-hills": [
            named(
                hill, "drawn", "returned", height=("height_m", hill["height_m"]),
                grade=("mean_grade_pct", hill["mean_grade_pct"]),
                available=("available_wh", down(hill, "available_wh")),
                captured=("captured_pct", down(hill, "captured_pct")),
                both_ways=("recovered_pct", pairs.get(hill["id"])),
            )
            for hill in data["hills"]
        ],
        "t-kinds": [named(kind, *energies) for kind in data["braking"]["kinds"] if kind["events"]],
        "t-bands": [named(band, *energies, braked=("time_s", band["time_s"])) for band in data["speed_bands"]],
        "t-hill_ledger": [
            named(entry, "drawn", "air", "rolling", "available", "returned", "missed", "unexplained",
                  potential=("potential_wh", entry["potential_wh"]))
            for entry in (ledger["hills"] if ledger else [])
        ],
        "t-events": [
            named(
                event, "available", "returned", "captured", missed=("missed_wh", missed.get(event["start_s"])),
                lasts=("lasts_s", event["end_s"] - event["start_s"]), drop=("drop_m", event["drop_m"]),
            )
            for event in data["braking"]["events"]
        ],
    }  # fmt: skip


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("slug", SLUGS)
def test_every_number_of_a_table_is_that_of_the_json(slug, style):
    answer, point = sample_answer(slug), STYLES[style].point
    document = Document(ride_page(answer, Making(style=STYLES[style])))
    n_checked = 0
    for name, rows in expected(answer).items():
        if name not in document.tables:
            assert not rows
            continue
        table = document.tables[name]
        assert len(table.rows) == len(rows)
        aliases = {key.removesuffix("_wh"): key for key in table.keys} | {key: key for key in table.keys}
        for key in rows[0]:
            if key not in aliases:
                assert all(row[key][1] is None for row in rows), f"{name}: {key} is left out though it is known"
                continue
            unit = table.head(aliases[key]).rpartition(", ")[2]
            for cell, row in zip(table.column(aliases[key]), rows, strict=True):
                assert_told(cell, row[key][1], factor(row[key][0], unit), point)
                n_checked += row[key][1] is not None
    assert n_checked > 40


@pytest.mark.parametrize("style", STYLES)
def test_the_answer_and_the_numbers_of_the_ride_are_those_of_the_json(style):
    answer, point = sample_answer("commute"), STYLES[style].point
    document, data = Document(ride_page(answer, Making(style=STYLES[style]))), sample_answer("commute").to_dict()
    names = {
        "drawn": "energy.drawn_wh", "returned": "energy.returned_wh", "recovered": "energy.recovered_pct",
        "recovered_charge": "charge.recovered_pct", "net_use": "energy.net_wh_per_km",
        "distance_gained": "energy.distance_gained_m", "available": "braking.available_wh",
        "captured": "braking.captured_pct", "distance": "ride.distance_m", "climbed": "ride.ascent_m",
    }  # fmt: skip
    assert set(document.figures) == set(names)
    for key, path in names.items():
        section, name = path.split(".")
        unit = re.split("[\u00a0 ]", document.figures[key][0])[-1]
        assert_told(document.figures[key], data[section][name], factor(name, unit), point)
    drawn, returned, share, low, high = numbers_in(document.h1, point)
    told = data["energy"]
    wanted = [told["drawn_wh"]["value"], told["returned_wh"]["value"], *told["recovered_pct"].values()]
    for (shown, half), value in zip((drawn, returned, share, low, high), wanted, strict=True):
        assert shown == pytest.approx(value, abs=1.0001 * half)


@pytest.mark.parametrize("slug", SLUGS)
def test_values_of_the_bike_settings_files_and_findings_are_those_of_the_json(slug):
    answer = sample_answer(slug)
    document, data = Document(ride_page(answer)), answer.to_dict()
    shown = {row[0][0]: row for row in document.tables["t-bike"].rows}
    for key, used in answer.bike.values().items():
        if used.value is None:
            assert key not in shown
        elif isinstance(used.value, (int, float)) and not isinstance(used.value, bool) and "wind" not in key:
            values = numbers_in(shown[key][2][0])
            assert values[0][0] == pytest.approx(used.value, abs=1.0001 * values[0][1])
            if used.limit is not None:
                assert values[1][0] == pytest.approx(used.limit, rel=0.05)
    settings = dict(pair.split(" = ") for row in document.tables["t-settings"].rows for pair in row[1][0].split("; "))
    for own in data["settings"].values():
        for name, value in own.items():
            if isinstance(value, float | int) and not isinstance(value, bool):
                assert name in settings
    assert settings["min_height_m"] == "5"
    for source in data["sources"]:
        assert source["sha256"] in document.text
    for finding in data["findings"]:
        assert finding["code"] in document.text


def test_the_same_answer_makes_the_same_bytes_and_another_does_not():
    answer = sample_answer("commute")
    assert ride_page(answer) == ride_page(answer)
    assert ride_page(answer) != ride_page(replace(answer, hills=()))


@pytest.mark.parametrize("seed", range(7300, 7312))
def test_a_ride_by_chance_makes_a_whole_document(seed):
    """With and without track, heights, speed, voltage: well-formed, no number that nobody knows, nothing outside."""
    page = ride_page(simulated_answer(seed))
    document = Document(page)
    assert document.wrong == []
    assert not re.search(r"\b(nan|None|inf)\b", document.text)
    ids = [given["id"] for _, given in document.tags if "id" in given]
    assert len(ids) == len(set(ids))
    assert not any(tag in ("script", "img", "link", "iframe", "object", "embed") for tag, _ in document.tags)
    outside = [value for _, given in document.tags for name, value in given.items() if name in ("href", "src")]
    assert all(value.startswith("#") for value in outside)
    assert "url(http" not in page
    assert "@import" not in page


def test_every_chart_has_a_title_a_description_and_a_role():
    document = Document(ride_page(sample_answer("commute")))
    drawings = [given for tag, given in document.tags if tag == "svg"]
    assert len(drawings) == 8  # four charts, each for a page and for a telephone
    ids = {given.get("id"): tag for tag, given in document.tags}
    for given in drawings:
        assert given["role"] == "img"
        assert ids[given["aria-labelledby"]] == "title"
        assert ids[given["aria-describedby"]] == "desc"


def test_without_places_nothing_tells_where_the_ride_was():
    answer = sample_answer("commute")
    answer = replace(answer, ride=replace(answer.ride, time_zone="Europe/Lisbon"))
    place = answer.hills[0].start
    assert place is not None
    hidden = without_places(answer)
    assert not {"latitude_deg", "longitude_deg", "east_m", "north_m"} & set(hidden.series.columns)
    assert all(hill.start is None and hill.end is None for hill in hidden.hills)
    page = ride_page(answer, Making(with_places=False))
    assert "left out on request" in page
    assert 'id="map-t"' not in page
    assert "Lisbon" not in page
    assert "Europe/Lisbon" in ride_page(answer)
    assert 'id="map-t"' in ride_page(answer)


def test_hostile_names_are_words_and_no_markup():
    answer = sample_answer("commute")
    evil = '"><script>alert(1)</script>\x1b[31m.csv'
    sources = tuple(replace(source, path=evil) for source in answer.sources)
    hills = tuple(replace(hill, name=evil) for hill in answer.hills)
    named = replace(answer, ride=replace(answer.ride, name=evil), sources=sources, hills=hills,
                    bike=replace(answer.bike, name="<b>&"))  # fmt: skip
    page = ride_page(named, Making(command=evil, given=(GivenFile(evil, evil, "0" * 64),)))
    document = Document(page)
    assert document.wrong == []
    assert not any(tag == "script" for tag, _ in document.tags)
    assert "alert(1)" in document.text
    assert "\x1b" not in page


def test_files_are_called_by_as_little_as_tells_them_apart():
    answer = sample_answer("commute")
    paths = [source.path for source in answer.sources]
    page = ride_page(renamed(answer, short_names(paths)))
    assert "sample_rides" not in page
    joined = replace(answer, sources=(replace(answer.sources[0], path="/a/one.zip/x.csv + /a/two.csv"),))
    names = {"/a/one.zip": "one.zip", "/a/two.csv": "two.csv"}
    assert renamed(joined, names).sources[0].path == "one.zip/x.csv + two.csv"
    said = replace(joined, findings=(Finding("check-sum", "warning", {"file": "/a/one.zip/x.csv"}),))
    assert renamed(said, names).findings[0].facts["file"] == "one.zip/x.csv"


def test_another_number_in_a_cell_would_be_seen():
    quantity = {"value": 1.24, "low95": 0.91, "high95": 1.56}
    assert_told(("1.24", "0.91 to 1.56"), quantity, 1)
    assert_told(("1.2 ±0.3", ""), quantity, 1)
    for cell in (("1.25", "0.91 to 1.56"), ("1.24", "0.91 to 1.57"), ("1.2 ±0.4", ""), ("1.2 (0.8 to 1.6)", "")):
        with pytest.raises(AssertionError):
            assert_told(cell, quantity, 1)


# Names of lines of the ledger, and of what was measured of the pack -> their fields, as docs/answer.md has them.
LINES = {
    "drawn from the battery": "drawn_wh", "air resistance": "air_wh", "rolling resistance": "rolling_wh",
    "height gained": "potential_wh", "height lost": "potential_wh", "speed gained": "kinetic_wh",
    "speed lost": "kinetic_wh", "motor drag": "drag_wh", "charging losses": "conversion_wh",
    "unexplained": "unexplained_wh", "returned to the battery": "returned_wh", "missed": "missed_wh",
    "delivered to the wheel": "to_wheel_wh", "available from braking": "available_wh",
    "could have come back": "catchable_wh", "friction brakes": "friction_wh", "not placed": "unplaced_wh",
    "friction brakes and motor drag": "friction_wh", "rider": "rider_wh",
}  # fmt: skip
PACK = {
    "resistance": "resistance_ohm", "highest cell": "highest_cell_v", "highest charge current": "highest_charge_a",
    "free at the start": "start_charge_headroom_ah",
}  # fmt: skip


@pytest.mark.parametrize("slug", SLUGS)
def test_ledger_pack_and_budget_are_those_of_the_json(slug):
    answer = sample_answer(slug)
    document, data = Document(ride_page(answer)), answer.to_dict()
    entry = data["ledger"]["ride"]
    for (name, _), cell, *_ in document.tables["t-ledger"].rows:
        quantity = entry[LINES[name.strip("+− ")]]
        if quantity is not None and quantity["value"] < 0 and name.startswith("+"):  # read as what it brought in
            quantity = {"value": -quantity["value"], "low95": -quantity["high95"], "high95": -quantity["low95"]}
        assert_told(cell, quantity, 1)
    for (name, _), (value, small), *_ in document.tables["t-pack"].rows:
        field = PACK[name]
        unit = re.split("[\\u00a0 ]", value)[-1]
        assert_told((value, small), data["pack"][field], factor(field, unit))
    for budget in data["budget"]:
        rows = document.tables["t-budget"].rows
        assert [row[0][0] for row in rows] == [*(line["name"] for line in budget["rows"]), "all together"]
        for row, line in zip(rows, budget["rows"], strict=False):
            for (text, _), value in zip(row[1:3], (line["u"], line["share_pct"]), strict=True):
                if value is not None:
                    ((shown, half),) = numbers_in(text)
                    assert shown == pytest.approx(value, abs=1.0001 * half)
