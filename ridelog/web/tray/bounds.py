"""How much is kept of all visitors, and whose tray goes first where that is too much.

A key for a new visitor is had for the asking, so that trays are bounded in number as well, and those of one address
together. An address that has most gives up first, so that it cannot push out what others gave; on this computer, where
all have one address, each visitor counts by itself. A tray into which files are being written stays: there are no more
of those than requests that are answered at once.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable

from ridelog.lazy import dataclass
from ridelog.web.tray.tray import Tray


@dataclass(frozen=True)
class Bounds:
    """How much is kept.

    Attributes
    ----------
    most_files, most_bytes : of one visitor [1], [byte]
    most_files_all, most_bytes_all : of all visitors [1], [byte]
    most_trays : of all visitors, those among them that hold nothing [1]
    most_of_samples : files of samples that one visitor took over with another bike [1]
    most_corrections : headers whose columns one visitor corrected [1]
    """

    most_files: int = 600
    most_bytes: int = 2_000_000_000
    most_files_all: int = 20_000
    most_bytes_all: int = 8_000_000_000
    most_trays: int = 1000
    most_of_samples: int = 60
    most_corrections: int = 200


DEFAULT_BOUNDS = Bounds()


def to_give_up(trays: Iterable[Tray], spared: Tray, bounds: Bounds = DEFAULT_BOUNDS) -> list[Tray]:
    """Trays that go, so that the others keep within the bounds.

    Parameters
    ----------
    trays : of all visitors
    spared : that stays in any case
    bounds : how much is kept

    Returns
    -------
    Of each quantity beyond its bound in turn, trays of whoever has most of it, those first that were asked for longest
    ago; where there are too many trays, those first that hold nothing.
    """
    left = {id(tray): tray for tray in trays}
    given_up: list[Tray] = []
    quantities: tuple[tuple[int, Callable[[Tray], int]], ...] = (
        (bounds.most_bytes_all, lambda tray: tray.size_bytes),
        (bounds.most_files_all, lambda tray: tray.n_files),
        (bounds.most_trays, lambda _tray: 1),
    )
    for most, amount in quantities:
        gone = _beyond(left.values(), spared, most, amount)
        given_up.extend(gone)
        for tray in gone:
            del left[id(tray)]
    return given_up


def _beyond(trays: Iterable[Tray], spared: Tray, most: int, amount: Callable[[Tray], int]) -> list[Tray]:
    amounts = [(tray, amount(tray)) for tray in trays]
    total = sum(of_tray for _, of_tray in amounts)
    if total <= most:
        return []
    by_turn: defaultdict[str, list[tuple[Tray, int]]] = defaultdict(list)
    of_turn: Counter[str] = Counter()
    for tray, of_tray in sorted(amounts, key=lambda each: (each[0].n_files > 0, each[0].asked_s), reverse=True):
        of_turn[tray.turn] += of_tray
        if tray is not spared and of_tray > 0 and not tray.n_giving:
            by_turn[tray.turn].append((tray, of_tray))  # the last goes first
    gone = []
    while total > most and by_turn:
        turn = max(by_turn, key=lambda each: _goes_first(by_turn[each][-1][0], of_turn[each]))
        tray, of_tray = by_turn[turn].pop()
        if not by_turn[turn]:
            del by_turn[turn]
        gone.append(tray)
        of_turn[turn] -= of_tray
        total -= of_tray
    return gone


def _goes_first(tray: Tray, of_turn: int) -> tuple[bool, int, float]:
    return tray.n_files == 0, of_turn, -tray.asked_s
