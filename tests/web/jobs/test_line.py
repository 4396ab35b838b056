"""A fair line: visitors take turns, and who has most gives way."""

from hypothesis import given
from hypothesis import strategies as st

from ridelog.web.jobs.line import Line


def filled(*puts, most=100, most_each=100):
    line = Line(most, most_each)
    for visitor, item in puts:
        line.put(visitor, item)
    return line


def emptied(line):
    taken = []
    while (item := line.take()) is not None:
        taken.append(item)
    return taken


def test_visitors_take_turns():
    line = filled(("a", "a1"), ("a", "a2"), ("a", "a3"), ("b", "b1"), ("c", "c1"), ("b", "b2"))
    assert emptied(line) == ["a1", "b1", "c1", "a2", "b2", "a3"]
    assert line.take() is None


def test_who_took_long_waits_for_all_who_did_not():
    """A ride of 10 s, then turns until the others have had as much (SFQ): ten rides of 1 s come first."""
    line = filled(*(("long", f"l{index}") for index in range(3)), *(("short", index) for index in range(12)))
    assert line.take() == "l0"
    line.charge("long", 10.0)
    taken = []
    for _ in range(13):
        taken.append(line.take())
        line.charge("short" if isinstance(taken[-1], int) else "long", 1.0)
    assert taken.index("l1") in (10, 11)


def test_who_comes_anew_has_no_advantage_and_no_drawback():
    """Not behind somebody on whom little was spent just because that was long ago, and not before all for ever."""
    line = filled(("old", 0))
    line.take()
    line.charge("old", 1000.0)
    line.put("old", 1)
    assert line.take() == 1  # the clock stands at 1000 s now
    for index in range(3):
        line.put("new", f"n{index}")
        line.put("old", 10 + index)
    assert emptied(line) == ["n0", 10, "n1", 11, "n2", 12]


@given(st.lists(st.tuples(st.sampled_from("abcd"), st.integers()), unique_by=lambda each: each[1], max_size=25))
def test_how_many_are_ahead_is_how_many_are_taken_before(puts):
    line = filled(*puts)
    told = {item: line.ahead(item) for _, item in puts}
    assert {item: place for place, item in enumerate(emptied(line))} == told


def test_one_visitor_may_have_so_many_and_no_more():
    line = filled(("a", 1), ("a", 2), most_each=2)
    assert (line.takes("a"), line.takes("b")) == (False, True)
    assert line.put("a", 3) == [3]
    assert line.put("b", 4) == []


def test_where_the_line_is_full_the_last_of_whoever_has_most_gives_way():
    line = filled(("a", 1), ("a", 2), ("a", 3), ("b", 4), most=4)
    assert line.put("b", 5) == [3]
    assert line.put("c", 6) == [2] or len(line) == 4
    assert line.put("c", 7) == [7]
    assert len(line) == 4


def test_who_is_dropped_is_forgotten():
    line = filled(("a", 1), ("b", 2))
    line.drop(1)
    line.drop(99)
    assert (line.ahead(1), line.ahead(2), len(line), emptied(line)) == (None, 0, 1, [2])
