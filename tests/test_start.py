"""What a command imports is what it uses: light commands stay light, by the modules that they load, not by time."""

import subprocess
import sys

import pytest

from tests.places import SAMPLES

# of the heavy libraries, and of the readers of single formats
_WATCHED = (
    *("numpy", "pandas", "pyarrow", "pydantic", "rich"),
    *("pyproj", "fitdecode", "gpxpy", "defusedxml", "dash", "plotly", "waitress"),
    *("scipy.spatial", "scipy.signal", "scipy.stats", "scipy.interpolate", "scipy.optimize", "scipy.fft"),
)
_LOG, _FIT = SAMPLES / "errand" / "akku.csv", SAMPLES / "errand" / "ride.fit"


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


def test_columns_of_a_log_load_its_reader_and_what_draws_them():
    assert loaded("columns", _LOG) == {"numpy", "pyarrow", "pydantic", "rich"}


def test_a_log_without_a_track_loads_no_maps_and_no_reader_of_tracks():
    assert loaded("measure", _LOG) == {"numpy", "pandas", "pyarrow", "pydantic", "rich"}


def test_what_a_program_reads_loads_nothing_that_draws():
    assert "rich" not in loaded("measure", _LOG, "--json")


def test_columns_of_a_fit_track_load_its_reader_alone():
    assert loaded("columns", _FIT) == {"numpy", "pandas", "pyarrow", "pydantic", "rich", "fitdecode"}


def test_a_ride_with_a_track_loads_what_its_road_needs():
    """The names watched for are those that are loaded: with a track, the same check sees them."""
    assert loaded("measure", _LOG, _FIT) >= {"pandas", "fitdecode", "pyproj", "scipy.spatial"}
