"""A fixed slice of what `make fuzz` tries, and that the bench itself sees what it looks for."""

import contextlib
import io
import signal
import warnings

import numpy as np
import pytest
from werkzeug import Response

from ridelog.errors import InputError
from ridelog.tell.refusals.page.orders import TOO_MANY
from tests.fuzz import checks
from tests.fuzz.case import KINDS, Case, case_of
from tests.fuzz.checks import Outcome, finding, finding_of, smaller
from tests.fuzz.readers import taken
from tests.fuzz.readers.cases import KINDS as KINDS_READ
from tests.fuzz.readers.cases import small_case
from tests.fuzz.run import HEADING_READ, RESULTS, STARTS, Tally, noted, row_of, run_block
from tests.fuzz.worker import Mode, watch, work
from tests.fuzz.world import WrongReply, held

SLICE = range(400)
# Inputs that broke something, by number: what they broke is mended.
MENDED = (10296, 13072, 14166, 15221, 16507, 19419, 23807, 1005341, 3029833, 20004803)
MENDED_READ = (
    *((seed,) for seed in (7683, 460, 4251, 220001676, 600042703, 600050566)),
    *((seed, "map") for seed in (300000996, 300000102)),
    *((seed, "fit") for seed in (500000027, 500000258, 500001186, 500001567)),
)


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


def test_a_slice_of_small_inputs_is_read_within_the_budget_and_with_our_own_errors_only():
    taken.warm_readers()
    tried = [*(small_case(seed) for seed in range(80)), *(small_case(*each) for each in MENDED_READ)]
    assert {case.kind for case in tried} == set(KINDS_READ)
    found = {case.seed: out.what for case in tried if (out := finding_of(case, taken.read_and_told)).what is not None}
    assert found == {}


def test_a_small_input_is_the_same_each_time():
    assert all(repr(small_case(seed)) == repr(small_case(seed)) for seed in range(40))


@pytest.mark.parametrize(
    ("planted", "what"),
    [
        (lambda: np.ones(25_000_000)[:0], "memory: log"),  # 200 MB, given back at once
        (lambda: 1 // 0, "ZeroDivisionError"),
        (lambda: warnings.warn("overflow", RuntimeWarning, stacklevel=1), "RuntimeWarning overflow"),
        (lambda: bytearray(5 << 60), "MemoryError"),
    ],
)
def test_a_reader_that_keeps_no_promise_is_seen_each_time_in_one_process(planted, what, monkeypatch):
    """The second time too: memory that was given back could hide that it is taken again."""
    taken.warm_readers()
    read = taken.read_logs

    def reader(*given, **how):
        planted()
        return read(*given, **how)

    sound = next(case for case in map(small_case, range(99)) if case.kind == "log" and not _of(case).what)
    monkeypatch.setattr(taken, "read_logs", reader)
    assert [str(_of(sound).what)[: len(what)] for _ in range(3)] == [what] * 3


def _of(case):
    return finding_of(case, taken.read_and_told)


class FakeWorker(contextlib.nullcontext):
    """A worker that says some lines and ends."""

    def __init__(self, said: str, returncode: int = 0) -> None:
        super().__init__(self)
        self.stdout, self.returncode = io.StringIO(said), returncode


def test_what_no_worker_comes_to_is_counted_as_not_tried(monkeypatch):
    """After a worker that could not begin none took its place, and nobody was told that 83 inputs were not tried."""
    monkeypatch.setattr("tests.fuzz.run.WAIT_S", 0)
    workers = [FakeWorker("try 100\nis log 0\ntry 101\nis bike 0\n", 1), *[FakeWorker("", 1)] * STARTS]
    tally, begun = Tally(), []

    def begin(options):
        begun.append(options[:3])
        return workers.pop(0)

    run_block(100, 10, tally, begin)
    assert begun == [["--block", "100", "10"], *[["--block", "102", "8"]] * STARTS]
    assert (tally.tried.total(), tally.untried) == (2, [(102, 8)])
    assert tally.found == {
        "worker ended with status 1: bike": [101],
        "worker that does not begin, status 1": [102],
    }
    assert "| 2 (8 not) | bike 1, log 1 |" in row_of(tally, 100, 110)


def test_an_input_that_cannot_be_made_is_named_itself_and_the_next_are_tried():
    """It was taken for a fault of the input before, whose worker then could not begin."""
    workers = [
        FakeWorker("try 100\nis log 0\ntry 101\n", 1),
        FakeWorker("try 102\nis fit 1\nslowest 0.5 102\ndone\n"),
    ]
    tally = Tally()
    run_block(100, 3, tally, lambda _options: workers.pop(0))
    assert tally.found == {"worker ended with status 1: while an input was made": [101]}
    assert (tally.tried, tally.measured, tally.untried) == ({"log": 1, "fit": 1}, 1, [(101, 1)])
    assert tally.worst == {"slowest": (0.5, 102)}


def test_the_input_that_could_not_be_made_can_be():
    """A row without cells, to be put in quotation marks."""
    assert case_of(32012717).kind == "packed"


def test_a_worker_says_what_took_most_and_what_memory_it_kept(monkeypatch):
    kept, out = [], io.StringIO()

    def outcome(_mode, case):
        kept.append(np.ones(20_000_000 if case.seed == 7 else 1))
        return Outcome("wrong: it" if case.seed == 6 else None, 0.1 * case.seed, 10**case.seed)

    monkeypatch.setattr("tests.fuzz.worker.bound_memory", lambda: None)
    monkeypatch.setattr(Mode, "outcome", outcome)
    work(5, 4, Mode(readers=True), out)
    said = out.getvalue().splitlines()
    assert [line for line in said if line.startswith(("found", "slowest", "largest", "done"))] == [
        "found 6 wrong: it",
        "slowest 0.800 8",
        "largest 100.000 8",
        "found 5 memory kept by a worker: 5 and 3 after it",
        "done",
    ]
    assert sum(line.startswith("try") for line in said) == 4


def test_an_input_that_does_not_end_ends_its_worker():
    """By time of the processor, or by the clock where it waits: nothing of Python has to run for it."""
    try:
        watch(30)
        assert 20 < signal.getitimer(signal.ITIMER_PROF)[0] < 40
        assert (signal.getsignal(signal.SIGPROF), signal.getsignal(signal.SIGALRM)) == (signal.SIG_DFL,) * 2
        assert signal.alarm(0) > 30
    finally:
        watch(0)
    assert signal.getitimer(signal.ITIMER_PROF)[0] == 0


def test_both_ways_have_their_table_in_the_results():
    text = RESULTS.read_text(encoding="utf-8")
    row = "| 1 to 2 | 2 | log 2 | 0.10 s, 1 MB | 0 |"
    lines = noted(text, row, HEADING_READ).splitlines()
    assert lines.index(HEADING_READ) < lines.index(row) < lines.index("## The page under attack")


def test_what_a_run_tried_is_noted_in_the_first_table():
    """It stood behind the last table of the file."""
    table = "# A\n\n| a |\n| --- |\n| 1 |\n"
    assert noted(f"{table}\n## B\n\n| b |\n| --- |\n", "| 2 |") == f"{table}| 2 |\n\n## B\n\n| b |\n| --- |\n"
    assert noted(table, "| 2 |") == f"{table}| 2 |\n"
