"""Orders: made beside the page, told when they break off, taken up again, kept within bounds."""

import json
import threading
import time

import pytest

from ridelog.errors import RidelogError
from ridelog.web.jobs.process import Limits, TooLongError
from ridelog.web.jobs.workshop import Room, Workshop
from ridelog.web.orders.order import Far, Wanted, result
from ridelog.web.orders.orders import OrderBounds, Orders
from ridelog.web.rides import RideStore
from ridelog.web.tray.trays import Hands, Trays


def write(text, folder, tell):
    """As a document."""
    tell(Far("writing", 1, 2).message())
    (folder / "a.txt").write_text(text)
    return result(tell, folder, title="T")


def wanted(make=write, given=("x",)):
    return Wanted("plan", "T", make, given, Limits(longest_s=5.0))


def made(orders, want, visitor="v"):
    return orders.place(visitor, visitor, want, orders.new_folder())


def waited_for(orders, order, state="done"):
    end = time.monotonic() + 60
    while order.state != state:
        assert time.monotonic() < end, order.state
        time.sleep(0.01)
    return orders.get("plan", order.token)


@pytest.fixture
def orders(tmp_path):
    return Orders(Workshop(), tmp_path, run=_run)


def _run(work, given, _stopped, _limits, tell):
    return work(*given, tell)


def test_what_was_made_is_found_by_its_address_alone(orders):
    order = made(orders, wanted())
    assert waited_for(orders, order).made("a.txt").read_text() == "x"
    assert order.far == Far("writing", 1, 2)
    assert not order.given_folder.exists()  # what it was made of is not kept
    assert orders.get("report", order.token) is None
    assert orders.get("plan", "guess") is None


def refuse(folder, tell):
    raise RidelogError("is empty", hint="h")


def last_too_long(folder, tell):
    raise TooLongError


def end(folder, tell):
    raise EOFError


def say_nonsense(folder, tell):
    return [b"[]"]


def claim(folder, tell):
    return [json.dumps({"files": ["../given", "none"]}).encode()]


@pytest.mark.parametrize(
    ("make", "line"),
    [
        (refuse, "is empty"),
        (last_too_long, "this took longer than 5 s and was ended"),
        (end, "broke off"),
        (say_nonsense, "broke off"),
    ],
)
def test_work_that_fails_says_so_and_can_be_begun_again(orders, make, line):
    order = waited_for(orders, made(orders, wanted(make, ())), "refused")
    assert line in order.lines[0]
    assert order.lines[1].startswith("hint: ")
    assert order.given_folder.exists()
    orders.again(order)
    waited_for(orders, order, "refused")


def test_a_file_that_was_only_claimed_is_none(orders):
    order = waited_for(orders, made(orders, wanted(claim, ())))
    assert order.told["files"] == []


def test_what_nobody_waited_for_is_taken_up_again_and_what_was_cancelled_is_not(tmp_path):
    begun, gave_up, go = threading.Event(), threading.Event(), threading.Event()

    def slowly(work, given, stopped, _limits, tell):
        begun.set()
        while not go.wait(0.01):
            if stopped():
                gave_up.set()
                return None
        return work(*given, tell)

    now_s = [0.0]
    orders = Orders(Workshop(Room(unasked_s=10.0), lambda: now_s[0]), tmp_path, run=slowly)
    order = made(orders, wanted())
    assert begun.wait(60)
    now_s[0] = 11.0
    assert gave_up.wait(60)
    go.set()
    assert order.state == "waiting"
    orders.get("plan", order.token)
    waited_for(orders, order)
    go.clear()
    other = made(orders, wanted())
    orders.stop(other)
    assert orders.get("plan", other.token).state == "stopped"


def test_the_oldest_go_where_there_are_too_many_or_they_are_too_large(monkeypatch, tmp_path):
    bounds = OrderBounds(most=3, most_each=2, most_bytes=30, most_waiting_each=1)
    orders = Orders(Workshop(), tmp_path, run=_run, bounds=bounds)
    first = [waited_for(orders, made(orders, wanted())) for _ in range(3)]
    assert [orders.get("plan", order.token) is not None for order in first] == [False, True, True]
    assert not first[0].folder.exists()
    large = waited_for(orders, made(orders, wanted(given=("y" * 40,)), "w"))
    assert orders.get("plan", first[2].token) is None
    assert orders.get("plan", large.token) is large
    assert orders.takes("v")
    monkeypatch.setattr(Orders, "_begin", lambda _self, _order: None)
    made(orders, wanted(), "u")
    assert not orders.takes("u")
    assert orders.takes("v")


def test_all_files_lie_where_those_of_visitors_do_and_go_with_them(tmp_path):
    trays = Trays(RideStore(), Workshop(), Hands(lambda *_: None, lambda *_: None))
    orders = Orders(Workshop(), trays.folder / "orders", run=_run)
    order = waited_for(orders, made(orders, wanted()))
    assert trays.folder.stat().st_mode & 0o077 == 0
    assert order.folder.is_relative_to(trays.folder)
    trays.close()
    assert not order.folder.exists()
