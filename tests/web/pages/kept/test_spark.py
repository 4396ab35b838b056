"""The profile as small as a word."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.web.pages.kept.spark import HEIGHT, PEN, WIDTH, spark


def made(answer, height_m):
    at = np.linspace(0, 1, len(height_m))
    series = pd.DataFrame({"elapsed_s": 300 * at, "distance_m": 2000 * at, "altitude_m": height_m})
    return replace(answer, series=series)


def ends(drawn):
    """Places of the line, from its steps."""
    first, *steps = re.findall(r"-?\d*\.?\d+", re.search(r'class="road" d="([^"]+)"', drawn)[1].replace("-", " -"))
    numbers = [float(first), *map(float, steps)]
    return np.cumsum(np.reshape(numbers, (-1, 2)), axis=0)


def test_it_runs_from_edge_to_edge_and_from_foot_to_head(make_answer):
    places = ends(spark(made(make_answer(n=50), np.linspace(10, 110, 50))))
    assert np.allclose(places[0], [0, HEIGHT - PEN], atol=0.1)
    assert np.allclose(places[-1], [WIDTH, PEN], atol=0.1)


def test_level_road_is_drawn_level_and_unknown_road_not_at_all(make_answer):
    places = ends(spark(made(make_answer(n=50), 10 + 0.2 * np.sin(np.arange(50)))))
    assert np.ptp(places[:, 1]) < 1
    assert spark(replace(make_answer(n=50), series=pd.DataFrame({"current_a": [1.0]}))) == ""
