"""A store: what is written comes back, once, whatever else is in it."""

import json
import pickle
from dataclasses import replace
from datetime import UTC, datetime

import pandas as pd
import pytest

import ridelog
from ridelog.answer.pack import Pack
from ridelog.errors import StoreError
from ridelog.fleet.store.columns import TABLES, columns
from ridelog.fleet.store.measured import MeasuredRide, Names
from ridelog.uncertain.quantity import Quantity
from tests.fleet.store.kept import faults_of, key_of, made_answer, made_ride, same_series
from tests.scenarios import SLUGS, sample_answer


@pytest.fixture
def store(tmp_path):
    return ridelog.open_store(tmp_path / "store", create=True)


def bytes_of(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.relative_to(folder).as_posix().startswith(".rows")
    }


def test_a_ride_comes_back_whole(store):
    ride = made_ride(1)
    store.write(ride)
    assert store.keys() == {ride.key: "0.1.0"}
    assert store.answer(ride.key) == ride.answer
    assert same_series(store.series(ride.key), ride.answer.series)
    assert faults_of(store, ride) == []


@pytest.mark.parametrize("slug", SLUGS)
def test_every_sample_ride_comes_back(store, slug):
    answer = sample_answer(slug)
    store.write(MeasuredRide(key_of(0), "Gannet", slug, "hub motor", answer))
    assert store.answer(key_of(0)) == answer
    assert len(store.series(key_of(0))) == len(answer.series)
    assert (len(store.hills()), len(store.events()), len(store.findings())) == (
        len(answer.hills), len(answer.braking.events), len(answer.findings)
    )  # fmt: skip
    (row,) = store.answers().to_dict("records")
    assert row["name"] == slug
    assert row["group"] == "hub motor"
    assert row["ride_start"] == answer.ride.start
    assert row["energy_drawn_wh"] == answer.energy.drawn_wh.value
    assert row["energy_drawn_wh_high95"] == answer.energy.drawn_wh.high95
    assert row["ride_duration_s"] == answer.ride.duration_s


def test_every_table_has_the_columns_of_the_schema(store):
    def held():
        return {name: [*getattr(store, name)()] for name in TABLES}

    stated = {name: [each.name for each in columns(name) if each.name != "answer"] for name in TABLES}
    assert held() == stated  # also while there is nothing
    store.write(made_ride(1))
    assert held() == stated


def test_what_is_not_known_is_nan(store):
    store.write(replace(made_ride(1), answer=replace(made_answer(1), pack=Pack(), budget=())))
    row = store.answers().iloc[0]
    assert all(
        pd.isna(row[name]) for name in ("pack_resistance_ohm", "energy_net_wh_per_km_high95", "u_zero_pct", "group")
    )


def test_written_again_changes_nothing(store, tmp_path):
    store.write(made_ride(1))
    before = bytes_of(tmp_path)
    store.write(made_ride(1))
    ridelog.open_store(tmp_path / "store").write(made_ride(1))
    assert bytes_of(tmp_path) == before


@pytest.mark.parametrize("fresh", [False, True])
@pytest.mark.parametrize("version", ["0.1.0", "0.2.0"])
def test_a_ride_that_is_measured_anew_takes_the_place_of_the_old(store, tmp_path, version, fresh):
    store.write(made_ride(1))
    new = made_ride(1, version=version, returned_wh=15.0)
    new = replace(new, answer=replace(new.answer, hills=()))  # no file of the old one is left, either
    (ridelog.open_store(tmp_path / "store") if fresh else store).write(new)
    assert store.keys() == {new.key: version}
    assert faults_of(store, new) == []
    assert len([name for name in bytes_of(tmp_path) if name.endswith(".parquet")]) == 4


def test_a_ride_whose_bike_or_month_is_another_now_is_there_once(store):
    store.write(made_ride(1))
    store.write(made_ride(1, bike="Tern"))
    assert store.answers(columns=["bike"])["bike"].tolist() == ["Tern"]


@pytest.mark.parametrize("bike", ["Gannet", "Tern"])
def test_a_ride_that_is_called_otherwise_is_as_if_it_had_been_written_so(store, tmp_path, bike):
    store.write(made_ride(1))
    store.rename({key_of(1): Names(bike, "To work", "weak regen"), key_of(2): Names(bike, "Nobody", None)})
    called = replace(made_ride(1), bike=bike, name="To work", group="weak regen")
    assert faults_of(store, called) == []
    other = ridelog.open_store(tmp_path / "other", create=True)
    other.write(called)
    tables = [
        {k: v for k, v in bytes_of(tmp_path / name).items() if k.endswith(".parquet")} for name in ("store", "other")
    ]
    assert tables[0] == tables[1]
    store.write(called)
    assert faults_of(store, called) == []


def test_the_rides_of_another_bike_keep_their_tables(store):
    """The files beside the answers have the same names for both bikes."""
    store.write(made_ride(1))
    store.write(made_ride(1, bike="Tern"))
    assert faults_of(store, made_ride(1, bike="Tern")) == []


def test_a_ride_that_was_taken_out_leaves_nothing(store, tmp_path):
    empty = bytes_of(tmp_path)
    store.write(made_ride(1))
    store.remove(key_of(1))
    store.remove(key_of(1))
    assert bytes_of(tmp_path) == empty
    assert store.keys() == {}
    with pytest.raises(StoreError, match=f"holds no ride {key_of(1)}"):
        store.answer(key_of(1))
    store.write(made_ride(1))
    assert faults_of(store, made_ride(1)) == []


def test_rides_are_chosen_by_bike_and_by_start(store):
    for number in range(6):  # 28 March to 2 April
        store.write(made_ride(number, bike="Tern" if number % 2 else "Gannet"))
    store.write(replace(made_ride(9), answer=undated(9)))

    def chosen(**which):
        return [int(name.split()[1]) for name in store.answers(**which)["name"]]

    assert chosen() == [0, 1, 2, 3, 4, 5, 9]
    assert chosen(bikes=["Tern"]) == [1, 3, 5]
    assert chosen(bikes=[]) == []
    assert chosen(bikes="Tern") == [1, 3, 5]
    assert chosen(bikes="Ternary") == []
    assert chosen(since=datetime(2026, 3, 30, 6, 30, tzinfo=UTC)) == [2, 3, 4, 5]
    assert chosen(until=datetime(2026, 4, 1, 6, 30, tzinfo=UTC), bikes=["Gannet"]) == [0, 2]
    assert chosen(since=datetime(2026, 4, 1, tzinfo=UTC), until=datetime(2026, 4, 2, tzinfo=UTC)) == [4]
    assert set(store.hills(bikes=["Tern"])["key"]) == {key_of(1), key_of(3), key_of(5)}
    assert set(store.events(since=datetime(2026, 4, 1, tzinfo=UTC))["key"]) == {key_of(4), key_of(5)}
    assert store.answers(bikes=["Tern"])["month"].tolist() == ["2026-03", "2026-03", "2026-04"]


def undated(number):
    answer = made_answer(number)
    return replace(answer, ride=replace(answer.ride, start=None))


def test_a_ride_without_wall_time_is_of_an_unknown_month(store):
    store.write(replace(made_ride(1), answer=undated(1)))
    assert store.answers(columns=["month"])["month"].tolist() == ["unknown"]
    assert store.answers()["ride_start"].isna().all()


def test_columns_come_in_the_order_that_is_asked_for(store):
    store.write(made_ride(1))
    assert [*store.answers(columns=["month", "energy_drawn_wh", "key"])] == ["month", "energy_drawn_wh", "key"]
    (text,) = store.answers(columns=["answer"])["answer"]
    assert json.loads(text) == made_answer(1).to_dict()
    with pytest.raises(StoreError, match="hills: has no column speed"):
        store.hills(columns=["speed"])


@pytest.mark.parametrize("bike", ["7", "a/b", "..", "Ærø 100 %", "bike=x", "unknown", " ", "a\\b:*?", "ü" * 40])
def test_a_bike_may_have_any_name(store, bike):
    store.write(made_ride(1, bike=bike))
    assert store.answers(bikes=[bike], columns=["bike"])["bike"].tolist() == [bike]
    assert store.hills(columns=["bike"])["bike"].tolist() == [bike]


def test_a_name_that_no_folder_can_have_is_refused(store):
    with pytest.raises(StoreError, match="has a name of 785 bytes as a folder, and 255 are possible"):
        store.write(made_ride(1, bike="ü" * 130))
    assert store.keys() == {}


def test_a_ride_without_samples_has_no_series(store):
    store.write(replace(made_ride(1), answer=replace(made_answer(1), series=pd.DataFrame())))
    with pytest.raises(StoreError, match="holds no series of the ride"):
        store.series(key_of(1))


def test_more_columns_stand_in_the_row_of_answers(store):
    extra = {"current_zero_a": Quantity(0.03, 0.01, 0.05), "air_temperature_c": 12.0, "wheel_scale_ratio": None}
    store.write(replace(made_ride(1), extra=extra))
    row = store.answers().iloc[0]
    assert row["current_zero_a"] == 0.03
    assert row["current_zero_a_high95"] == 0.05
    assert row["air_temperature_c"] == 12.0
    with pytest.raises(ValueError, match="no column colour"):
        store.write(replace(made_ride(1), extra={"colour": 1.0}))


def test_a_ride_of_twenty_minutes_at_one_hertz_takes_less_than_45_kb(store, tmp_path):
    answer = sample_answer("errand")
    assert answer.sources[0].step_s == 1.0
    empty = sum(map(len, bytes_of(tmp_path).values()))
    store.write(MeasuredRide(key_of(1), "Gannet", "errand", None, answer))
    taken = sum(map(len, bytes_of(tmp_path).values())) - empty
    assert taken < 45_000 * answer.ride.duration_s / 1200  # it takes 22 minutes


def test_a_store_goes_to_another_process(store):
    store.write(made_ride(1))
    other = pickle.loads(pickle.dumps(store))
    assert other.keys() == store.keys()
    other.write(made_ride(2))
    assert pickle.loads(pickle.dumps(other)) is other  # one for all work there
    assert faults_of(store, made_ride(1), made_ride(2)) == []


@pytest.mark.parametrize("address", [".", "deep/store"])
def test_a_store_stays_where_it_was_opened(tmp_path, monkeypatch, address):
    for name in ("home", "elsewhere"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path / "home")
    store = ridelog.open_store(address, create=True)
    store.write(made_ride(1))
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert store.address == address
    assert faults_of(store, made_ride(1)) == []
    assert pickle.loads(pickle.dumps(store)).keys() == store.keys()
    store.catalogue.keep_report("x", "y")
    assert [*(tmp_path / "elsewhere").iterdir()] == []


# --- opening --------------------------------------------------------------------------------------


def test_a_newer_store_is_refused_in_a_sentence(tmp_path):
    ridelog.open_store(tmp_path, create=True).write(made_ride(1))
    (tmp_path / "store.json").write_text('{"schema": 2}')
    before = bytes_of(tmp_path)
    for create in (False, True):
        with pytest.raises(StoreError) as caught:
            ridelog.open_store(tmp_path, create=create)
        assert caught.value.lines() == [
            f"{tmp_path}: the store has schema 2, and this ridelog reads 1 at most",
            "hint: a newer ridelog reads it",
        ]
    assert bytes_of(tmp_path) == before


@pytest.mark.parametrize("head", ["", "{}", "[1]", '{"schema": "1"}', '{"schema": 0}', '{"schema": true}', "\x00"])
def test_a_damaged_head_is_refused(tmp_path, head):
    ridelog.open_store(tmp_path, create=True)
    (tmp_path / "store.json").write_text(head)
    with pytest.raises(StoreError, match=r"store\.json does not say which schema the store has"):
        ridelog.open_store(tmp_path)


def test_where_there_is_no_store_none_is_opened(tmp_path):
    with pytest.raises(StoreError, match="there is no store"):
        ridelog.open_store(tmp_path / "none")
    assert not (tmp_path / "none").exists()
    (tmp_path / "letter.txt").write_text("Dear")
    for create in (False, True):
        with pytest.raises(StoreError, match="is no store of ridelog, and other files are in it"):
            ridelog.open_store(tmp_path, create=create)
    with pytest.raises(StoreError, match="is a file, and a store is a folder"):
        ridelog.open_store(tmp_path / "letter.txt", create=True)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize("create", [False, True])
def test_an_empty_address_is_refused_and_makes_no_store_where_one_happens_to_be(tmp_path, monkeypatch, create):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(StoreError, match="an empty name was given"):
        ridelog.open_store("", create=create)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("said", ["2026-01-01", datetime(2026, 1, 1), pd.NaT])  # noqa: DTZ001  (that is the point)
@pytest.mark.parametrize("bound", ["since", "until"])
def test_a_time_without_a_zone_is_one_sentence(store, bound, said):
    with pytest.raises(StoreError, match=f"^{bound}: .*is no time with a zone"):
        store.answers(**{bound: said})


def test_the_description_is_renewed_by_who_makes_or_fills_a_store(tmp_path):
    ridelog.open_store(tmp_path, create=True)
    text = (tmp_path / "STORE.md").read_bytes()
    for other in (b"old", None):
        if other is None:
            (tmp_path / "STORE.md").unlink()
        else:
            (tmp_path / "STORE.md").write_bytes(other)
        ridelog.open_store(tmp_path)
        assert not (tmp_path / "STORE.md").exists() or (tmp_path / "STORE.md").read_bytes() == other
        ridelog.open_store(tmp_path, create=True)
        assert (tmp_path / "STORE.md").read_bytes() == text


def test_columns_of_a_later_version_are_passed_over_and_missing_ones_not_known(store, tmp_path, monkeypatch):
    store.write(made_ride(1))
    (path,) = (tmp_path / "store" / "answers").rglob("*.parquet")
    frame = pd.read_parquet(path, partitioning=None)
    later = frame.drop(columns=["energy_drawn_wh", "group"]).assign(colour="red")
    later[later.columns[::-1]].to_parquet(path)
    row = store.answers().iloc[0]
    assert pd.isna(row["energy_drawn_wh"])
    assert row["energy_returned_wh"] == 14.1
    assert "colour" not in row


def test_a_damaged_file_is_one_sentence(store, tmp_path):
    store.write(made_ride(1))
    (path,) = (tmp_path / "store" / "answers").rglob("*.parquet")
    path.write_bytes(path.read_bytes()[:100])
    with pytest.raises(StoreError, match="cannot be read"):
        store.answers()
    with pytest.raises(StoreError, match="cannot be read"):
        store.answer(key_of(1))
