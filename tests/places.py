"""Where things lie, for tests at any depth."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_rides"
REFERENCE = ROOT / "tests" / "reference"


def others_recording(name: str) -> Path:
    """A recording that its licence keeps out of this repository; skips the test where it does not lie beside it."""
    path = ROOT.parent / "shared" / "data" / name
    if not path.exists():
        pytest.skip(f"{name} is a recording that may not be kept in this repository, and it is not on this computer")
    return path
