"""The document of a comparison: the numbers of the JSON, a verdict only where there is one, the same bytes again."""

import json
import re
from dataclasses import replace

import pytest

from ridelog.compare.record import Comparison, HillFigure, HillSpread
from ridelog.report.comparison.page import comparison_page
from ridelog.report.making import GivenFile, Making
from tests.compare.campaigns import told_comparison
from tests.compare.made_up import rides_at_hand
from tests.report.reading import Document, numbers_in
from tests.report.ride.test_page import STYLES, assert_told, factor
from tests.scenarios import sample_answer

TOLD = told_comparison()
FEET = 1 / 0.3048
OTHER_UNITS = {
    "lb": 1 / 0.45359237, "ft": FEET, "ft²": FEET**2, "lbf": 1 / 4.4482216, "mph": 3.6 / 1.609344, "km/h": 3.6,
    "°F": 1.8,
}  # fmt: skip
RIDES = rides_at_hand(commute=sample_answer("commute"), winter=sample_answer("winter"))
FIELDS = {
    "groups": {"recovered_mean": "recovered_pct", "captured_mean": "captured_pct", "use_mean": "net_wh_per_km"},
    "rides": {"recovered_share": "recovered_pct", "captured_share": "captured_pct", "use": "net_wh_per_km"},
}


def times_of(field, unit):
    return 1.0 if unit in ("points", "%") else factor(field, unit)


@pytest.mark.parametrize("style", STYLES)
def test_every_number_of_a_table_is_that_of_the_json(style):
    data, point = TOLD.to_dict(), STYLES[style].point
    document = Document(comparison_page(TOLD, Making(style=STYLES[style])))
    n_checked = 0
    for name, fields in FIELDS.items():
        table = document.tables[f"t-{name}"]
        for key, field in fields.items():
            if key not in table.keys:
                assert all(row[field] is None for row in data[name])
                continue
            times = times_of(field, table.head(key).rpartition(", ")[2])
            for cell, row in zip(table.column(key), data[name], strict=True):
                assert_told(cell, row[field], times, point)
                n_checked += 1
    table = document.tables["t-differences"]
    ordered = [data["differences"][at] for at in (0, 3, 1, 2)]  # the one that is corrected behind the same as ridden
    for n, row in enumerate(ordered):
        cells = {key: table.column(key)[n] for key in table.keys}
        if row["difference"] is not None:
            unit = re.split("[\u00a0 ]", cells["change"][0])[-1]
            assert_told(cells["change"], row["difference"], times_of(row["quantity"], unit), point)
            n_checked += 1
        if row["smallest_told"] is not None:
            unit = re.split("[\u00a0 ]", cells["least"][0])[-1]
            assert_told(cells["least"], row["smallest_told"], times_of(row["quantity"], unit), point)
        if row["rides_to_settle"] is not None:
            assert cells["to_settle"][0] == str(row["rides_to_settle"])
    assert n_checked >= 10


def test_the_answer_is_the_headline_and_what_is_not_told_stands_below_it():
    document = Document(comparison_page(TOLD))
    told = next(each for each in TOLD.differences if each.verdict != "not-told")
    assert document.h1.startswith(f"{told.second.capitalize()} recovered ")
    (value, half), *_ = numbers_in(document.h1)
    assert value == pytest.approx(abs(told.difference.value), abs=1.0001 * half)
    assert "It is not clear whether" in document.text
    assert "Corrected for" in document.text
    assert any(given.get("id") == "differences-t" for _, given in document.tags)


def test_the_chart_of_what_differs_stands_before_its_table_which_can_be_parted():
    """A chart is whole on one page: behind the table it left a third of the first page empty, on letter paper."""
    html = comparison_page(TOLD)
    assert html.index('id="differences"') < html.index("<svg") < html.index('id="t-differences"')


@pytest.mark.parametrize("style", STYLES)
def test_what_makes_a_difference_uncertain_is_that_of_the_json(style):
    point = STYLES[style].point
    document = Document(comparison_page(TOLD, Making(style=STYLES[style])))
    table = document.tables["t-budget"]
    ordered = [TOLD.to_dict()["differences"][at] for at in (0, 3, 1, 2)]
    fields = {"spread": "from_ride_to_ride_sd", "chance": "by_chance_u", "shared": "shared_u", "p": "p_value",
              "p_holm": "p_corrected", "level": "level_pct", "freedom": "degrees_of_freedom"}  # fmt: skip
    n_checked = 0
    for n, row in enumerate(ordered):
        change = document.tables["t-differences"].column("change")[n][0]
        of_unit = times_of(row["quantity"], re.split("[\u00a0 ]", change)[-1])
        for key, field in fields.items():
            cell = table.column(key)[n][0]
            if row[field] is None:
                assert cell == "–"
            elif cell.startswith("<"):
                assert row[field] < numbers_in(cell, point)[0][0]
            else:
                times = of_unit if key in ("spread", "chance", "shared") else 1.0
                assert_told((cell, ""), row[field], times, point)
                n_checked += 1
        if row["verdict_low"] is not None:
            within = {"value": row["difference"]["value"], "low95": row["verdict_low"], "high95": row["verdict_high"]}
            for (shown, half), key in zip(
                numbers_in(table.column("within")[n][0], point), ("low95", "high95"), strict=True
            ):
                assert shown == pytest.approx(within[key] * of_unit, abs=1.0001 * half)
    assert n_checked > 15
    causes = document.tables["t-shared"].column("causes")[0][0]
    assert causes.startswith("voltage gain ")


def assert_numbers(cell, wanted, quantity, point):
    """The first numbers of a cell are these, in the unit that stands behind them; a number not known is left out."""
    unit = re.split("[\u00a0 ]", cell)[-1]
    times = times_of(quantity, unit)
    known = [value * times for value in wanted if value is not None]
    shown = numbers_in(cell, point)
    assert len(shown) >= len(known)
    for value, (number, half) in zip(known, shown, strict=False):
        assert number == pytest.approx(value, abs=1.0001 * half)


@pytest.mark.parametrize("style", STYLES)
def test_conditions_hills_precision_and_agreement_are_those_of_the_json(style):
    point = STYLES[style].point
    hill = HillFigure(1, 710.4, -37.68, {"off": HillSpread(6, 24.31, 1.234)})
    told = replace(TOLD, hills=(hill,))
    document, data = Document(comparison_page(told, Making(style=STYLES[style]))), told.to_dict()
    names = [group["name"] for group in data["groups"]]
    table = document.tables["t-conditions"]
    assert table.heads[1:3] == names
    for n, condition in enumerate(data["conditions"]):
        for at, name in enumerate(names):
            spread, cell = condition["groups"][name], table.column(f"group_{at}")[n][0]
            if spread["mean"] is None:
                assert cell == "–"
            else:
                assert_numbers(cell, (spread["mean"], spread["sd"]), condition["quantity"], point)
    row = {key: document.tables["t-hills"].column(key)[0][0] for key in ("length", "height", "group_0")}
    assert_numbers(row["length"], (hill.length_m,), "length_m", point)
    assert_numbers(row["height"], (hill.height_m,), "height_m", point)
    spread = data["hills"][0]["groups"]["off"]
    (mean, half), (sd, its_half), (n_rides, _) = numbers_in(row["group_0"], point)
    assert (mean, sd) == (
        pytest.approx(spread["captured_pct"], abs=half),
        pytest.approx(spread["captured_sd"], abs=its_half),
    )
    assert n_rides == spread["rides"]
    table = document.tables["t-precision"]
    rows = [(quantity, one) for group in data["groups"] for quantity, one in group["precision"].items()]
    for n, (quantity, one) in enumerate(rows):
        for key in ("repeatability_sd", "repeatability_limit", "reproducibility_sd", "reproducibility_limit"):
            assert_numbers(table.column(key)[n][0], (one[key],), quantity, point)
        assert table.column("loggers")[n][0] == str(one["laboratories"])
    table, (logged,) = document.tables["t-loggers"], data["loggers"]
    for key in ("bias", "lower", "upper"):
        assert_told(table.column(key)[0], logged["agreement"][key], 1.0, point)


@pytest.mark.parametrize("style", STYLES)
def test_braking_energy_and_pack_are_those_of_the_json(style):
    point = STYLES[style].point
    document, data = Document(comparison_page(TOLD, Making(style=STYLES[style]))), TOLD.to_dict()
    flows = [each for each in data["flows"] if each["quantity"] != "unplaced_wh"]  # nothing on any ride
    n_checked = 0
    for about in ("braking", "ledger", "pack"):
        table = document.tables[f"t-flows-{about}"]
        assert table.heads[1:] == ["off", "strong"]
        of = [each for each in flows if each["about"] == about]
        assert len(table.column("what")) == len(of)
        for n, flow in enumerate(of):
            for at, name in enumerate(("off", "strong")):
                cell, over = table.column(f"group_{at}")[n][0], flow["groups"].get(name)
                if over is None:
                    assert cell == "–"
                    continue
                wanted = [over["mean"], *([over["sd"]] if over["sd"] else [])]
                wanted += [over["most"]] if about == "pack" and over["sd"] else []
                wanted += [over["rides"]] if over["rides"] < 6 else []
                shown = numbers_in(cell, point)
                assert [value for value, _ in shown] == [
                    pytest.approx(value, abs=1.0001 * half) for value, (_, half) in zip(wanted, shown, strict=True)
                ]
                n_checked += len(shown)
    assert n_checked == 14


@pytest.mark.parametrize("style", STYLES)
def test_what_the_rides_rest_on_is_that_of_their_answers(style):
    """Values of the bikes with their origin, columns as they were read, every file, every threshold."""
    point = STYLES[style].point
    document = Document(comparison_page(TOLD, Making(style=STYLES[style]), RIDES))
    table = document.tables["t-bike"]
    used = [ride.answer.bike.values() for ride in RIDES]
    assert table.heads[2:4] == ["off", "on"]
    for (key, _), *cells in zip(table.column("key"), table.column("value_0"), table.column("value_1"), strict=True):
        for cell, own in zip(cells, used, strict=True):
            told = own[key]
            if isinstance(told.value, float):
                unit = re.split("[\u00a0 ]", cell[0])[-1]
                (shown, half), *limit = numbers_in(cell[0].replace("²", ""), point)
                wanted = told.value * OTHER_UNITS.get(unit, 1.0) + (32 if unit == "°F" else 0)
                assert shown == pytest.approx(wanted, abs=1.0001 * half)
                for written, its_half in limit:
                    assert written == pytest.approx(told.limit * OTHER_UNITS.get(unit, 1.0), abs=1.0001 * its_half)
            elif told.value is None:
                assert cell[0] == "–"
    for (key, _), (origin, _) in zip(table.column("key"), table.column("origin"), strict=True):
        assert origin == ", ".join(dict.fromkeys(own[key].source or "not used" for own in used))
    hashes = [cell[0] for cell in document.tables["t-files"].column("sha256")]
    assert {source.sha256 for ride in RIDES for source in ride.answer.sources} <= set(hashes)
    assert hashes[-1] == "b" * 64
    columns = [row[0][0] for name, each in document.tables.items() if name.startswith("t-columns") for row in each.rows]
    assert {use.column for ride in RIDES for source in ride.answer.sources for use in source.columns} == set(columns)
    thresholds = " ".join(row[1][0] for row in document.tables["t-settings-1"].rows)
    assert all(key in thresholds for own in RIDES[0].answer.settings.values() for key in own)
    found = {row[0][0] for row in document.tables["t-found"].rows}
    assert found == {each.code for ride in RIDES for each in ride.answer.findings}


def test_each_ride_has_its_files_and_the_command_stands_at_the_end():
    making = Making(command="ridelog report --group a=b", given=(GivenFile("bike.toml", "bike file", "e" * 64),))
    document = Document(comparison_page(TOLD, making, RIDES))
    for words in (RIDES[0].answer.sources[0].sha256, "e" * 64, RIDES[-1].key):
        assert words in document.text
    assert TOLD.rides[-1].key in Document(comparison_page(TOLD)).text
    assert document.command == "ridelog report --group a=b"


def test_it_is_whole_and_the_same_again_whatever_its_groups_are_called():
    evil = "<script>alert(1)</script>'\"><b>&"
    data = json.loads(json.dumps(TOLD.to_dict()).replace("strong", json.dumps(evil)[1:-1]))
    rides = [replace(ride, group=evil, name=evil) for ride in RIDES]
    page = comparison_page(Comparison.from_dict(data), rides=rides)
    assert page == comparison_page(Comparison.from_dict(data), rides=rides)
    document = Document(page)
    assert document.wrong == []
    assert "alert(1)" in document.text
    assert not any(tag == "script" for tag, _ in document.tags)
    ids = [given["id"] for _, given in document.tags if "id" in given]
    assert len(ids) == len(set(ids))
    assert len(page) < 400_000


def test_of_very_many_differences_the_first_are_said_and_the_others_counted():
    many = replace(TOLD, differences=TOLD.differences * 5)
    document = Document(comparison_page(many))
    leads = [given for tag, given in document.tags if tag == "p" and given.get("class") == "lead"]
    assert len(leads) == 9
    assert "more differences stand in the table below." in document.text
    assert len(document.tables["t-differences"].rows) == 20
    assert "stand in the table" not in Document(comparison_page(TOLD)).text
