"""What rides teach, on a terminal."""

import io
from dataclasses import replace

from ridelog.console.learnings import print_teaching
from ridelog.tell.fleet import learning as words
from tests.tell.fleet.test_learning import TEACHING


def shown(teaching):
    out = io.StringIO()
    print_teaching(teaching, out)
    return out.getvalue()


def test_values_starts_gain_and_lines_stand_below_each_other():
    text = shown(TEACHING)
    places = [text.index(part) for part in ("What 12 rides", "Learned", "How full", "With these", "[sensor]")]
    assert places == sorted(places)


def test_where_nothing_can_be_learned_that_is_said():
    assert shown(replace(TEACHING, learned=(), starts=())) == f"{words.NOTHING}\n"
