"""A visitor's ride in a store: the answer that was shown, under the key that an audit gives the same files."""

from ridelog.fleet.folders import find_rides
from ridelog.fleet.store.store import open_store
from ridelog.web.jobs.keeping import Place, keep_given
from ridelog.web.jobs.measuring import Given, measure_given, named
from tests.fleet.recordings import write_log


def given(folder, corrections=()):
    logs = tuple(named(path.name, path.read_bytes()) for path in sorted(folder.glob("*.csv")))
    return Given(logs, named("bike.toml", (folder / "bike.toml").read_bytes()), None, dict(corrections))


def test_it_is_kept_as_it_was_shown_and_as_an_audit_would_keep_it(tmp_path):
    folder, store = tmp_path / "heron", open_store(tmp_path / "store", create=True)
    write_log(folder / "log.csv")
    (folder / "bike.toml").write_text("[bike]\ntotal_mass_kg = 100.0\n")
    answer, columns = keep_given(given(folder), Place(store, "Heron", "to work"))
    shown, shown_columns = measure_given(given(folder))
    assert (answer, columns) == (shown, shown_columns)
    (ride,) = find_rides([folder]).rides
    row = store.answers().iloc[0]
    assert (row["key"], row["recordings"]) == (ride.key, ride.recordings_key)
    assert row["bike_file"] == ride.bike_file.sha256
    assert row.isna()["column_map"]
    assert (row["bike"], row["name"]) == ("Heron", "to work")
    assert store.answer(ride.key) == answer
    assert len(store.series(ride.key)) == len(answer.series)


def test_the_same_files_otherwise_corrected_are_another_ride(tmp_path):
    folder, store = tmp_path / "heron", open_store(tmp_path / "store", create=True)
    write_log(folder / "log.csv")
    (folder / "bike.toml").write_text("")
    for corrections in ({}, {}, {"some header": "[[column]]\n"}):
        keep_given(given(folder, corrections), Place(store, "Heron", "x"))
    assert len(store.keys()) == 2
