"""Where things lie, for tests at any depth."""

from pathlib import Path

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_rides"
REFERENCE = ROOT / "tests" / "reference"
SHARED_DATA = ROOT.parent / "shared" / "data"  # recordings that may not be committed; tests skip where it is absent
