"""The reading at rest against limit and standby draw; test_findings.py makes whole logs of it."""

import numpy as np
import pytest

from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.quality.channels import Samples
from ridelog.analysis.quality.standing import rest_findings, zero_findings
from ridelog.settings.bike import SensorSection

STANDING = np.ones(200, dtype=bool)


def samples(reading_a):
    nowhere = np.full(200, np.nan)
    return Samples(np.arange(200.0), np.full(200, reading_a), nowhere, np.zeros(200), nowhere, STANDING, 0.01)


def found(reading_a, **sensor):
    rest = Rest(reading_a, 200, 199.0, 0.01, 0.01)
    return zero_findings("a.csv", samples(reading_a), rest, SensorSection(**sensor))


def test_the_reading_at_rest_is_told_with_the_error_that_the_standby_draw_leaves():
    rest = Rest(0.09, 200, 199.0, 0.01, 0.01)
    (known,) = rest_findings("a.csv", rest, STANDING, SensorSection(standby_draw_a=0.06))
    assert known.facts["zero_error_a"] == pytest.approx(0.03)
    (unknown,) = rest_findings("a.csv", rest, STANDING, SensorSection())
    assert unknown.facts["zero_error_a"] is None


def test_a_reading_that_limit_and_standby_draw_explain_is_no_finding():
    assert found(0.06) == []
    assert found(0.14, standby_draw_a=0.06, current_zero_limit_a=0.1) == []


@pytest.mark.parametrize(
    ("reading_a", "sensor", "severity"),
    [
        (0.7, {}, "note"),
        (0.06, {"standby_draw_a": 3.0}, "warning"),
        (0.3, {"standby_draw_a": 0.06, "current_zero_limit_a": 0.1}, "warning"),
        (-0.3, {}, "warning"),
    ],
)
def test_one_that_they_do_not_explain_is_graver_where_the_bike_file_contradicts_it(reading_a, sensor, severity):
    (finding,) = found(reading_a, **sensor)
    assert (finding.code, finding.severity) == ("zero-beyond-limit", severity)
    assert finding.facts["reading_a"] == reading_a
