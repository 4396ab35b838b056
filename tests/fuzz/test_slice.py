"""A fixed slice of what `make fuzz` tries, and that the bench itself sees what it looks for."""

import io

import numpy as np
import pytest
from werkzeug import Response

from ridelog.errors import InputError
from ridelog.tell.refusals.page.orders import TOO_MANY
from tests.fuzz import checks
from tests.fuzz.case import KINDS, Case, case_of
from tests.fuzz.checks import finding, smaller
from tests.fuzz.run import noted
from tests.fuzz.world import WrongReply, held

SLICE = range(400)
# Inputs that broke something, by number: what they broke is mended.
MENDED = (10296, 13072, 14166, 15221, 16507, 19419, 23807, 1005341, 3029833, 20004803)


def test_a_slice_of_all_inputs_is_taken_within_the_budget_and_with_our_own_errors_only():
    found = {seed: what for seed in SLICE if (what := finding(case_of(seed))) is not None}
    assert found == {}


@pytest.mark.parametrize("seed", MENDED)
def test_what_once_broke_something_no_longer_does(seed):
    assert finding(case_of(seed)) is None


def test_a_slice_of_the_requests_to_the_newer_pages_is_answered_in_order():
    """With those that broke something: the last day that there is, asked for as the end of a list."""
    found = {seed: what for seed in (*range(300), 3734) if (what := finding(case_of(seed, "page"))) is not None}
    assert found == {}


@pytest.mark.parametrize(
    ("reply", "what"),
    [
        (Response("x", 500), "status 500"),
        (Response("x", 503), "status 503"),
        (Response("x" * 1_600_000), "too long"),
        (Response("x", 303, {"Location": "//evil.example"}), "led elsewhere"),
        (Response("KeyError: 'x'", 404), "a foreign error"),
        (Response("Traceback (most recent call last)"), "a foreign error"),
        (Response('<input value=""><fuzz-x>">', mimetype="text/html"), "markup given back"),
        (Response("<p title='' onfuzz='1'>", mimetype="text/html"), "markup given back"),
        (Response("<script>fuzz</script>", mimetype="text/html"), "markup given back"),
        (Response('<p title="&quot;><fuzz-x>">&lt;fuzz-x&gt;</p>', mimetype="text/html"), None),
        (Response(TOO_MANY, 503), None),
    ],
)
def test_the_bench_sees_a_reply_that_cannot_be(reply, what):
    if what is None:
        held(reply, reply.data, 0, "x")
        return
    with pytest.raises(WrongReply, match=what):
        held(reply, reply.data, 0, "x")


def test_an_input_is_the_same_each_time_and_every_kind_is_tried():
    assert all(repr(case_of(seed)) == repr(case_of(seed)) for seed in range(20))
    assert {case_of(seed).kind for seed in range(80)} == set(KINDS)


@pytest.mark.parametrize(
    ("fault", "what"),
    [
        (ZeroDivisionError("x"), "ZeroDivisionError"),
        (RuntimeWarning("overflow"), "RuntimeWarning overflow"),
        (MemoryError(), "MemoryError"),
        (InputError("a", "is bad"), None),
        (InputError("a", "is bad", hint="one\ntwo"), None),
    ],
)
def test_the_bench_sees_what_it_looks_for(fault, what, monkeypatch):
    """Planted where logs are read; an error of ours is none, and its lines are made printable by the error itself."""

    def broken(*_given, **_how):
        raise fault

    monkeypatch.setattr(checks, "read_logs", broken)
    case = Case(0, "log", (("a.csv", b"x"),))
    found = finding(case)
    assert found is None if what is None else found.startswith(what)


def test_the_bench_sees_memory_and_time(monkeypatch):
    case = Case(0, "log", (("a.csv", b"x"),))
    monkeypatch.setattr(checks, "read_logs", lambda *_given, **_how: np.ones(40_000_000)[:0])
    assert finding(case) == "memory: log"
    monkeypatch.setattr(checks, "FREE_S", -1.0)
    assert finding(case) == "time: log"


def test_the_bench_sees_an_answer_that_cannot_be(monkeypatch):
    monkeypatch.setattr(checks, "impossible", lambda _answer: ["hills[3].x 1.5 exceed 2"])
    log = io.BytesIO()
    log.write(b"time [s],battery current [A],battery voltage [V]\n")
    log.write(b"".join(b"%d,%d,48\n" % (each, each % 7) for each in range(90)))
    case = Case(0, "ride", (("a.csv", log.getvalue()),), measured=True)
    assert finding(case).startswith("Wrong hills##x # exceed #")


def test_a_finding_is_made_as_small_as_it_goes():
    assert smaller(b"a long text with one BUG in it", lambda content: b"BUG" in content) == b"BUG"


def test_what_a_run_tried_is_noted_in_the_first_table():
    """It stood behind the last table of the file."""
    table = "# A\n\n| a |\n| --- |\n| 1 |\n"
    assert noted(f"{table}\n## B\n\n| b |\n| --- |\n", "| 2 |") == f"{table}| 2 |\n\n## B\n\n| b |\n| --- |\n"
    assert noted(table, "| 2 |") == f"{table}| 2 |\n"
