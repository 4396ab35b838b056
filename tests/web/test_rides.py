"""The store of answers: bounded, and safe to use from several threads."""

import threading

from ridelog.web.jobs.carried import folded
from ridelog.web.rides import RideStore, ShownRide, shown_ride


def test_a_ride_is_found_by_its_token_only():
    """A token gives its ride; a foreign or malformed one gives nothing."""
    store = RideStore()
    token = store.put(ShownRide("mine"))
    assert store.get(token).title == "mine"
    assert store.get("guess") is None
    assert store.get(None) is None
    assert store.get(["list"]) is None


def test_the_ride_looked_at_longest_ago_goes_first():
    """With room for two, the third pushes out the one that was not looked at."""
    store = RideStore(most_rides=2)
    first, second = store.put(ShownRide("1")), store.put(ShownRide("2"))
    store.get(first)
    third = store.put(ShownRide("3"))
    assert [store.get(token) is not None for token in (first, second, third)] == [True, False, True]


def test_the_size_of_all_rides_is_bounded_but_the_newest_stays():
    """Rides go until all fit; one that is too large alone is held all the same."""
    store = RideStore(most_bytes=100)
    small = store.put(ShownRide("s", size_bytes=60))
    large = store.put(ShownRide("l", size_bytes=500))
    assert store.get(small) is None
    assert store.get(large) is not None


def test_a_held_answer_keeps_only_what_is_drawn(make_answer):
    """Columns that no chart needs are not kept, and the size is that of those that are."""
    shown = shown_ride(make_answer(), title="t")
    assert "grade_pct" not in shown.answer.series
    assert shown.size_bytes == shown.answer.series.memory_usage().sum()


def test_a_sample_is_measured_once_for_all_visitors():
    """Eight visitors at once cause one measurement and share its token."""
    store, made, tokens = RideStore(), [], []

    def make():
        made.append(1)
        return ShownRide("sample")

    threads = [threading.Thread(target=lambda: tokens.append(store.sample("a", make))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1
    assert len(set(tokens)) == 1


def test_a_measured_sample_is_held_whatever_comes(make_answer):
    """Visitors who fill the store do not have it measured again; one that has no answer may be."""
    store, made = RideStore(most_rides=1), []
    answered, failed = shown_ride(make_answer(n=50), title="a"), ShownRide("b", error_lines=("x",))
    for _ in range(3):
        token = store.sample("a", lambda: made.append("a") or answered)
        store.sample("b", lambda: made.append("b") or failed)
        store.put(ShownRide("other"))
        assert store.get(token).title == "a"
    assert made == ["a", "b", "b", "b"]


def test_rides_at_hand_no_longer_are_folded_and_come_back_as_they_were(make_answer):
    """By what they hold and how they were put; looked at again, another one is folded in their place."""
    n_folded = []

    def fold(shown):
        n_folded.append(shown.title)
        return folded(shown)

    store, answer = RideStore(fold=fold, most_at_hand=2), make_answer(n=50)
    tokens = [store.put(shown_ride(answer, title=title)) for title in "abcd"]
    assert n_folded == ["a", "b"]
    before, ride = shown_ride(answer, title="a"), store.get(tokens[0])
    assert n_folded == ["a", "b", "c"]
    assert (ride.title, ride.size_bytes, ride.answer.to_dict()) == ("a", before.size_bytes, before.answer.to_dict())
    assert ride.answer.series.equals(before.answer.series)
    assert [store.get(token).title for token in tokens] == [*"abcd"]


def test_a_ride_that_was_put_anew_while_it_is_unfolded_is_the_new_one(make_answer):
    store = RideStore(fold=lambda shown: lambda: store.put(ShownRide("new"), first) and shown, most_at_hand=1)
    first = store.put(shown_ride(make_answer(n=50), title="old"))
    store.put(ShownRide("other"))
    store.get(first)
    assert store.get(first).title == "new"


def test_long_rides_and_those_that_are_found_behind_are_never_folded(make_answer):
    """The ones would keep others waiting; the others are found again."""
    store = RideStore(fold=lambda _: 1 / 0, most_at_hand=1, largest_folded=100)
    store.look_behind(lambda _: shown_ride(make_answer(n=2), title="kept"))
    long = store.put(shown_ride(make_answer(n=50), title="long"))
    assert store.get("kept/1").title == "kept"
    store.put(ShownRide("refused", error_lines=("x",)))
    store.put(ShownRide("last"))
    assert store.get(long).title == "long"
