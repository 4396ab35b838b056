"""A part of a ride's motion: the same samples, and nothing else changed."""

from dataclasses import fields

import numpy as np
import pytest

from ridelog.analysis.road.motion import Motion

TIME_S = np.arange(10.0)


@pytest.mark.parametrize("heading", [None, TIME_S / 10])
def test_a_part_holds_its_samples_and_what_is_known_of_all(heading):
    whole = Motion(TIME_S, TIME_S * 2, TIME_S * 3, TIME_S * 4, heading, height_clock_u_s=0.3, speed_u_mps=0.2)
    part = whole.between(2, 5)
    for field in fields(Motion):
        here, there = getattr(part, field.name), getattr(whole, field.name)
        if isinstance(there, np.ndarray):
            assert here.tolist() == there[2:6].tolist()
        else:
            assert here == there
