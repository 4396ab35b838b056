"""Thresholds of the clock join: every one with its reason, in an order that makes sense."""

import inspect
import re
from dataclasses import fields

from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings


def test_every_threshold_states_its_reason_and_none_is_stated_that_is_not_there() -> None:
    text = (inspect.getdoc(ClockSettings) or "").split("----------", 1)[1]
    described = {name.strip() for line in re.findall(r"(?m)^(\S.*?) : ", text) for name in line.split(",")}
    assert described == {field.name for field in fields(ClockSettings)}


def test_what_is_believed_against_clocks_takes_more_than_what_is_believed_without_them() -> None:
    assert DEFAULTS.opposed_agreement < DEFAULTS.least_agreement < DEFAULTS.contradicted_agreement < 1
    assert DEFAULTS.wall_s < DEFAULTS.disagree_s < DEFAULTS.near_zone_s <= DEFAULTS.near_s
    assert DEFAULTS.n_windows * DEFAULTS.window_s <= DEFAULTS.drift_overlap_s
