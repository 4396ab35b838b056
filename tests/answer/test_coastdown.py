"""The answer of a coast-down comes back as it was."""

import json

import ridelog
from ridelog.answer.coastdown import CoastDown, CoastedRide, CoastStretch, Measured
from ridelog.findings import Finding
from tests.places import SAMPLES


def test_a_coast_down_comes_back():
    measured = Measured(0.55, 0.45, 0.65, 0.05)
    stretch = CoastStretch(1.0, 9.0, 8.0, 6.5, 58.0, None, 12.5, 0, 1, True, 0.02)
    answer = CoastDown(
        CoastedRide("ride"), cda_m2=measured, constant_n=measured, correlation=-0.8, settled=True, stretches=(stretch,)
    )
    assert CoastDown.from_dict(json.loads(json.dumps(answer.to_dict(), allow_nan=False))) == answer
    assert answer.to_dict()["cda_m2"] == {"value": 0.55, "low95": 0.45, "high95": 0.65, "u": 0.05}
    assert answer.to_dict()["ride"] == {"name": "ride"}


def test_the_coast_down_of_a_sample_ride_comes_back():
    folder = SAMPLES / "commute"
    answer = ridelog.coastdown(ridelog.load_ride([folder / "controller.csv", folder / "track.gpx"]))
    assert answer.findings
    assert isinstance(answer.findings[0], Finding)
    assert CoastDown.from_dict(json.loads(json.dumps(answer.to_dict(), allow_nan=False))) == answer
