"""What a command imports is what it uses: light commands stay light, by the modules that they load, not by time."""

import subprocess
import sys

import pytest

from tests.fleet.recordings import MONDAY, write_log
from tests.places import SAMPLES

# of the heavy libraries, and of the readers of single formats
_WATCHED = (
    *("numpy", "pandas", "pyarrow", "pydantic", "tomlkit", "rich", "scipy"),
    *("pyproj", "fitdecode", "gpxpy", "defusedxml", "dash", "plotly", "waitress"),
    *("scipy.spatial", "scipy.signal", "scipy.stats", "scipy.interpolate", "scipy.optimize", "scipy.fft"),
)
_LOG, _FIT = SAMPLES / "errand" / "akku.csv", SAMPLES / "errand" / "ride.fit"
_WALL_TIME_LOG = SAMPLES / "commute" / "controller.csv"
_GPX = SAMPLES / "commute" / "track.gpx"


def loaded(*arguments):
    """Those of the watched modules that a command loads, in a process of its own."""
    code = (
        "import io, sys\nfrom ridelog.cli import main\n"
        "status = main(sys.argv[1:], io.StringIO(), sys.stderr)\n"
        f"print(int(status), *[name for name in {_WATCHED!r} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    status, *names = done.stdout.split()
    assert status in ("0", "1")
    return set(names)


@pytest.mark.parametrize("option", ["--help", "--version"])
def test_what_needs_no_file_loads_no_arrays_either(option):
    assert loaded(option) == set()


@pytest.mark.parametrize("log", [_LOG, _WALL_TIME_LOG])
def test_columns_of_a_log_load_its_reader_and_what_draws_them(log):
    assert loaded("columns", log) == {"numpy", "pyarrow", "rich"}


def test_a_column_map_loads_what_checks_it(tmp_path):
    path = tmp_path / "map.toml"
    path.write_text('[log]\ndelimiter = ";"\n')
    assert loaded("columns", _LOG, "--columns", path) == {"numpy", "pyarrow", "rich", "pydantic", "tomlkit"}


@pytest.mark.parametrize(("track", "reader"), [(_FIT, {"fitdecode"}), (_GPX, set())])
def test_columns_of_a_track_load_its_reader_alone(track, reader):
    assert loaded("columns", track) == {"numpy", "rich"} | reader


def test_a_log_without_a_track_loads_no_maps_no_reader_of_tracks_and_no_mathematics_beyond_numpy():
    assert loaded("measure", _LOG) == {"numpy", "pandas", "pyarrow", "pydantic", "rich"}


def test_what_a_program_reads_loads_nothing_that_draws():
    assert "rich" not in loaded("measure", _LOG, "--json")


@pytest.mark.parametrize("ride", [(_LOG, _FIT), (_WALL_TIME_LOG, _GPX)])
def test_a_ride_with_a_track_loads_what_its_road_needs(ride):
    """A road of less than 28 km needs no tree of places, passed twice or not, and none the transforms of scipy."""
    found = loaded("measure", *ride)
    assert found >= {"pandas", "pyproj", "scipy"}
    assert not found & {"scipy.spatial", "scipy.fft"}


def test_an_audit_of_what_has_not_changed_loads_nothing_that_reads_tables(tmp_path):
    write_log(tmp_path / "heron" / "log.csv", MONDAY)
    assert "pandas" in loaded("audit", tmp_path, "--workers", "1")
    assert loaded("audit", tmp_path) == {"numpy", "rich", "pydantic", "tomlkit"}


def test_a_page_loads_nothing_that_measures_before_it_is_asked():
    """Rides are measured in processes of their own."""
    code = "import sys, ridelog.web.app; print(*[name for name in sys.modules if name.startswith('ridelog.analysis')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == []
