"""Heights that no road has: how large the error is there, and for how long."""

import math

import numpy as np
import pytest

from ridelog.analysis.road.height_noise import Track, height_noise
from ridelog.analysis.road.height_uncertainty import height_change_q, told_slopes
from ridelog.analysis.road.hills.slopes import find_slopes
from ridelog.analysis.road.no_road import leaping_m2
from ridelog.analysis.road.profile import height_profile

SPEED_MPS = 1.0
ALONG_M = np.arange(0.0, 2000.1, SPEED_MPS)


def with_leap(leap_m, *, at_m=1000.0):
    """The profile of level road whose recorded height leaps and stays, passed at 1 m/s."""
    return height_profile(ALONG_M, 100.0 + leap_m * (at_m < ALONG_M) + 0.05 * np.sin(ALONG_M))


def test_a_road_of_25_per_cent_is_one():
    profile = height_profile(ALONG_M, 0.25 * ALONG_M)
    assert leaping_m2(profile, profile.distance_m / SPEED_MPS).max() == 0.0


def test_nor_is_a_step_of_8_m_a_leap():
    """Smoothed by 12 m, a step of s metres is as steep as s / (12 √(2π)): 8 m are 27 %, 12 m are 40 %."""
    profile = with_leap(8.0)
    assert leaping_m2(profile, profile.distance_m / SPEED_MPS).max() == 0.0


def test_the_error_is_as_large_as_the_leap_and_forgotten_over_300_s():
    """The kernel's ramp of 30 m is steeper than 20 % where φ(x/σ) 30 / σ is: to x = 1.79 σ, over 93 % of the leap."""
    profile = with_leap(30.0)
    passed_s = profile.distance_m / SPEED_MPS
    u_m = np.sqrt(leaping_m2(profile, passed_s))
    assert np.interp(1000.0, passed_s, u_m) == pytest.approx(0.927 * 30.0, abs=1.5)  # a grid of 5 m
    ratio = np.interp(1700.0, passed_s, u_m) / np.interp(1100.0, passed_s, u_m)
    assert ratio == pytest.approx(math.exp(-600.0 / 300.0 / 2), rel=1e-6)


def test_heights_beside_a_leap_are_unsure_and_make_no_hill():
    """512 to 579 m and back within 40 m of way, as a receiver wrote that was carried indoors; then 20 m of recovery."""
    knots = [0, 1300, 1310, 1340, 1350, 1380, 1510, 2000]
    altitude_m = np.interp(ALONG_M, knots, [512, 512, 542, 579, 579, 540, 562, 562])
    track = Track(ALONG_M / SPEED_MPS, ALONG_M, altitude_m, np.full(len(ALONG_M), SPEED_MPS))
    profile = height_profile(ALONG_M, altitude_m)
    noise = height_noise(profile, track)
    assert told_slopes(find_slopes(profile, noise), noise) == []
    sure, unsure = (height_change_q(0.0, start_s, start_s + 100.0, noise) for start_s in (100.0, 1400.0))
    assert unsure.high95 > 5 * sure.high95
