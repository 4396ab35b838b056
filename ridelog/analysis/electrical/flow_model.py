"""How sure drawn and returned are: what the sensor, the sampling and the gaps may have done to them.

The current reading is ``x = g (1 + a·[i < 0]) i + b + noise``. The zero error b, the gain g and the charge gain a are
the same for the whole ride, so they shift drawn, returned and every hill together: one set of trials serves all
(JCGM 101:2008). What happens between the samples is an error that runs through the ride and is drawn once for it
(`ridelog.analysis.electrical.sampling`), and so is what flowed across missing samples that are bridged: a window and
all that lies outside it add up to the whole in every trial. Only for gaps too long to be bridged, where each window is
held against its own usual flow, they do not. The trials may lie below 0, where nothing can flow: cut off window by
window, their errors would add up in a sum instead of averaging out. At the border they are told as at least 0.
"""

from collections.abc import Collection, Sequence
from dataclasses import fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.between_samples import running_variances
from ridelog.analysis.electrical.bridges import Readings, bridges
from ridelog.analysis.electrical.charge import Flowing, Rule
from ridelog.analysis.electrical.means import Hidden, hidden
from ridelog.analysis.electrical.sampling import SamplingErrors
from ridelog.analysis.electrical.sensor import (
    CHARGE_GAIN,
    ERRORS,
    GAIN,
    MISSING,
    SAMPLING,
    VOLTAGE_GAIN,
    SensorLimits,
    common_trials,
)
from ridelog.analysis.electrical.unseen_return import unseen_return
from ridelog.analysis.electrical.zero import Zero
from ridelog.arrays import Floats, RunningRows
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import bound_stream, stream
from ridelog.uncertain.trials import N_TRIALS, UNKNOWN, Uncertain, combined, exact

Span = tuple[float, float]  # start and end of a window [s]
LEAST_SEEN_S = 1e-6  # less of a window between samples is the rounding of its bounds
MOST_AT_ONCE = 64  # windows whose trials by what is common are worked out together, 64 kB each
N_ZEROS = 7  # zero errors at which the integrals are evaluated; between them straight lines


@dataclass(frozen=True)
class Throughput:
    """What left the battery terminals and what went back into them, as charge [Ah] or as energy [Wh]."""

    drawn: Uncertain
    returned: Uncertain

    def __add__(self, other: "Throughput") -> "Throughput":
        """Both together."""
        return Throughput(self.drawn + other.drawn, self.returned + other.returned)

    @property
    def net(self) -> Uncertain:
        """Drawn less returned."""
        return self.drawn - self.returned

    @property
    def told(self) -> "Throughput":
        """Both as people are told of them: at least 0, in every trial. Sums and differences are formed before."""
        return Throughput(self.drawn.at_least(0.0), self.returned.at_least(0.0))

    @property
    def recovered_pct(self) -> Uncertain:
        """100 × returned / drawn, in which the gains that both share cancel; unknown where nothing was drawn [%]."""
        share = self.returned.at_least(0.0).share_pct(self.drawn)
        return replace(share, sources=share.sources - {GAIN, VOLTAGE_GAIN})


UNKNOWN_THROUGHPUT = Throughput(UNKNOWN, UNKNOWN)


NOTHING_THROUGH = Throughput(exact(0.0), exact(0.0))


@dataclass(frozen=True)
class _Within:
    """What running totals hold of windows: drawn and returned at each zero error, shape (k, n_zeros), and of shape (k,)
    what means hide, and the time missed and seen."""

    drawn: Floats
    returned: Floats
    cancelled: Floats
    missing_s: Floats
    seen_s: Floats

    def summed(self, mask: NDArray[np.bool_]) -> "_Within":
        """Those of the mask as one window."""
        return _Within(*(getattr(self, each.name)[mask].sum(axis=0, keepdims=True) for each in fields(self)))


class FlowModel:
    """Drawn and returned in any window of a ride, with all that may be wrong with them.

    Parameters
    ----------
    readings : the log
    zero : the zero error of the current
    limits : what the sensor keeps to
    rule : how samples are integrated
    with_voltage : the voltage's gain error counts as well
    """

    def __init__(
        self, readings: Readings, zero: Zero, limits: SensorLimits, *, rule: Rule = "clip", with_voltage: bool = False
    ) -> None:
        self.time_s = readings.time_s
        self.zero = zero
        self.common = common_trials(zero, limits, with_voltage=with_voltage)
        self.zeros = zero.between(N_ZEROS)
        n_zeros = len(self.zeros)
        flowing = Flowing(readings, rule)
        rate = (flowing.current_a - zero.value_a) * readings.weight
        lines = self._fill(flowing, readings, rule)
        variances = running_variances(rate, readings, rule=rule)
        self._shared, hidden_best = np.zeros(1), None
        if rule == "mean":
            cancelled = _hidden(rate, readings)
            variances = variances + cancelled.variances
            hidden_best = cancelled.best
            self._running.put(2 * n_zeros, hidden_best)
            self._shared = cancelled.shared(self.common.cancelled) - 1
        self.unseen_return = unseen_return(readings, flowing.current_a - zero.value_a)
        self.sampling = SamplingErrors(self.time_s, variances)
        self._bridges = bridges(rate, readings, N_TRIALS, rule=rule, hidden=hidden_best).above_nothing(lines)
        self._missed = stream("unseen").random((2, N_TRIALS))

    def _fill(self, flowing: Flowing, readings: Readings, rule: Rule) -> Floats:
        """Put in what flowed at each zero error, and return its best lines across missing samples, shape (n, 2).

        Of a long log no more is kept than what the rest can be added up from, where that can be said.
        """
        n, n_zeros = len(self.time_s), len(self.zeros)
        rows, bridged = 2 * n_zeros + 3, np.flatnonzero(readings.bridged)  # see FlowModel._within
        if n >= RunningRows.LONG and rule == "clip":
            at_blocks = flowing.at_blocks(self.zeros, RunningRows.BLOCK)
            self._running = RunningRows(rows, n, flowing.growth, at_blocks)
            grown = flowing.growth(np.stack([bridged, bridged + 1], axis=1))[:, :, 0]
            return grown[[self._at_best, n_zeros + self._at_best]].T
        self._running, lines = RunningRows(rows, n), np.zeros((len(bridged), 2))
        for row, zero_a in enumerate(self.zeros.tolist()):
            rate = (flowing.current_a - zero_a) * readings.weight
            both = flowing.totals(zero_a, _hidden(rate, readings).best if rule == "mean" else 0.0)
            for part, totals in enumerate(both):
                self._running.put(part * n_zeros + row, totals)
                if row == self._at_best:
                    lines[:, part] = totals[bridged + 1] - totals[bridged]
        steps_s = np.diff(readings.time_s)
        for row, counted in ((2 * n_zeros + 1, ~readings.counted), (2 * n_zeros + 2, readings.counted)):
            self._running.put(row, np.concatenate(([0.0], np.cumsum(np.where(counted, steps_s, 0.0)))))
        return lines

    def window(
        self,
        start_s: float,
        end_s: float,
        *,
        bounds_u_s: tuple[float, float] = (0.0, 0.0),
        acting: Collection[str] = ERRORS,
    ) -> Throughput:
        """What flowed in one window: what is common to the ride is the same in all, what is between its samples is not.

        Parameters
        ----------
        start_s, end_s : of the window [s]
        bounds_u_s : standard uncertainties of start and end, where these are not the user's own [s]
        acting : the errors that act, all by default

        Returns
        -------
        Drawn and returned; unknown where no part of the window was seen.
        """
        return self.windows([(start_s, end_s)], bounds_u_s=[bounds_u_s], acting=acting)[0]

    def windows(
        self,
        spans_s: Sequence[Span],
        *,
        bounds_u_s: Sequence[tuple[float, float]] | None = None,
        acting: Collection[str] = ERRORS,
    ) -> list[Throughput]:
        """What flowed in each of some windows, as `FlowModel.window` gives it.

        Parameters
        ----------
        spans_s : start and end of each [s]
        bounds_u_s : standard uncertainties of these, as many; 0 by default [s]
        acting : the errors that act, all by default

        Returns
        -------
        Drawn and returned of each; unknown where no part of the window was seen.
        """
        if len(spans_s) > MOST_AT_ONCE:
            parts = [slice(start, start + MOST_AT_ONCE) for start in range(0, len(spans_s), MOST_AT_ONCE)]
            bounds = [None if bounds_u_s is None else bounds_u_s[part] for part in parts]
            both = zip(parts, bounds, strict=True)
            return [each for part, u_s in both for each in self.windows(spans_s[part], bounds_u_s=u_s, acting=acting)]
        if not spans_s:
            return []
        within = self._within(spans_s)
        best, (out, back) = self._best(within), self._common(within, acting)
        places = self.sampling.places(spans_s)
        result = []
        for k, (span, seen) in enumerate(zip(spans_s, self._seen(spans_s, within).tolist(), strict=True)):
            if not seen:
                result.append(UNKNOWN_THROUGHPUT)
                continue
            missed, own = self._own([span], places[k : k + 1], within.cancelled[k], acting)
            if bounds_u_s is not None and any(bounds_u_s[k]):
                own = own + self._moved(*span, bounds_u_s[k])
            values, trials = best[k] + missed, (out[k] + own[0], back[k] + own[1])
            missing_s = float(within.missing_s[k])
            if MISSING in acting and missing_s > 0:
                unseen = self._unseen(missing_s, span[1] - span[0] - missing_s)
                trials = trials[0] * (1 + unseen[0]), trials[1] * (1 + unseen[1])
            result.append(self._throughput(values, trials, acting))
        return result

    def together(self, spans_s: Sequence[Span]) -> Throughput:
        """What flowed in some windows together, of which those of which no part was seen are left out.

        Parameters
        ----------
        spans_s : start and end of each [s]

        Returns
        -------
        The sum of what `windows` gives of each; exactly nothing of none.
        """
        within = self._within(spans_s) if spans_s else None
        if within is None or not (seen := self._seen(spans_s, within)).any():
            return NOTHING_THROUGH
        whole = seen & ~(within.missing_s > 0)
        result = NOTHING_THROUGH
        if whole.any():
            spans = [span for span, one in zip(spans_s, whole.tolist(), strict=True) if one]
            all_of_them = within.summed(whole)
            missed, own = self._own(spans, self.sampling.places(spans), all_of_them.cancelled[0], ERRORS)
            out, back = (part[0] for part in self._common(all_of_them, ERRORS))
            result = self._throughput(self._best(all_of_them)[0] + missed, (out + own[0], back + own[1]), ERRORS)
        for each in self.windows([span for span, one in zip(spans_s, (seen & ~whole).tolist(), strict=True) if one]):
            result = result + each
        return result

    def _best(self, within: "_Within") -> Floats:
        """Best values of drawn and returned but for what bridges hold, shape (k, 2)."""
        return np.stack([part @ self._at_value for part in (within.drawn, within.returned)], axis=1)

    def _common(self, within: "_Within", acting: Collection[str]) -> tuple[Floats, Floats]:
        """Drawn and returned by what is common to the ride alone, each shape (k, N_TRIALS)."""
        at_zeros = self._with_all if acting is ERRORS else self._counted(acting)
        return combined(within.drawn, at_zeros[0]), combined(within.returned, at_zeros[1])

    def _own(
        self, spans_s: Sequence[Span], places: NDArray[np.intp], cancelled: float, acting: Collection[str]
    ) -> tuple[Floats, Floats]:
        """What bridges hold by best values, shape (2,), and all that is the windows' own, (2, N_TRIALS or 1)."""
        bridged = [self._bridges.within(*span) for span in spans_s] if len(self._bridges.time_s) else []
        missed = sum((best for best, _ in bridged), np.zeros((2, 1)))
        own = sum((across for _, across in bridged), np.zeros((2, 1))) if MISSING in acting else missed
        if SAMPLING in acting:
            own = own + self.sampling.at_places(places)
            if cancelled:
                own = own + cancelled * self._shared
            if (hidden_back := self.unseen_return) is not None:
                share = float(np.diff(np.interp(spans_s, self.time_s, hidden_back.running)).sum())
                own = np.stack(np.broadcast_arrays(own[0], own[1] + share * hidden_back.trials_a))
        return missed[:, 0], own

    def _throughput(self, values: Floats, trials: tuple[Floats, Floats], acting: Collection[str]) -> Throughput:
        """Drawn and returned with their sources; what noise feigns is within the interval, and no value."""
        drawn, returned = values.tolist()
        sources = frozenset(acting)
        return Throughput(
            Uncertain(drawn, trials[0], sources - {CHARGE_GAIN}),
            Uncertain(returned if self.unseen_return is None else 0.0, trials[1], sources),
        )

    @staticmethod
    def _seen(spans_s: Sequence[Span], within: "_Within") -> NDArray[np.bool_]:
        """Of which windows any part was seen, shape (k,)."""
        start_s, end_s = np.array(spans_s).T
        return np.asarray((within.seen_s > LEAST_SEEN_S) | ~(end_s > start_s))

    def drawn_until(self, at_s: Floats) -> Floats:
        """What was drawn from the start to each moment, by its best value, without bridges, shape (k,)."""
        until: Floats = self._until(at_s)[self._at_best]
        return until

    @cached_property
    def _at_best(self) -> int:
        """The row of the zero error that is the best value."""
        return int(np.argmin(np.abs(self.zeros - self.zero.value_a)))

    @cached_property
    def _at_value(self) -> Floats:
        """How much of what flowed at each zero error counts at its best value, shape (n_zeros,)."""
        return np.array([np.interp(self.zero.value_a, self.zeros, one) for one in np.eye(len(self.zeros))])

    @cached_property
    def _with_all(self) -> tuple[Floats, Floats]:
        """`_counted` with all errors acting."""
        return self._counted(ERRORS)

    def _counted(self, acting: Collection[str]) -> tuple[Floats, Floats]:
        """How much of what flowed at each zero error counts in each trial, drawn and returned, (n_zeros, N_TRIALS)."""
        common = self.common.only(acting, self.zero.value_a)
        near = np.stack([np.interp(common.zero_a, self.zeros, one) for one in np.eye(len(self.zeros))])
        drawn = near / common.gain
        return drawn, drawn / common.charge_gain

    def _within(self, spans_s: Sequence[Span]) -> "_Within":
        """What the running totals hold of some windows."""
        at_start, at_end = (self._until(bounds_s) for bounds_s in np.array(spans_s).T)
        n_zeros, inside = len(self.zeros), (at_end - at_start).T
        return _Within(inside[:, :n_zeros], inside[:, n_zeros : 2 * n_zeros], *inside[:, 2 * n_zeros :].T)

    def _until(self, at_s: Floats) -> Floats:
        """The running totals at moments, straight lines between samples, shape (n_rows, k)."""
        steps = np.clip(np.searchsorted(self.time_s, at_s, side="right") - 1, 0, len(self.time_s) - 2)
        first_s = self.time_s[steps]
        part = np.clip((at_s - first_s) / (self.time_s[steps + 1] - first_s), 0.0, 1.0)
        return self._running.at(steps) * (1 - part) + self._running.at(steps + 1) * part

    def _moved(self, start_s: float, end_s: float, bounds_u_s: tuple[float, float]) -> Floats:
        """What drawn and returned change by where the bounds move, shape (2, N_TRIALS).

        A bound moves by trials of its own, so that what one window gains by it the window beyond it loses.
        """
        if not any(bounds_u_s):
            return np.zeros((2, 1))
        change = np.zeros((2, N_TRIALS))
        for bound_s, u_s, sign in zip((start_s, end_s), bounds_u_s, (-1, 1), strict=True):
            moved_s = bound_s + u_s * bound_stream(bound_s - float(self.time_s[0])).standard_normal(N_TRIALS)
            near = np.searchsorted(self.time_s, [min(bound_s, moved_s.min()), max(bound_s, moved_s.max())])
            first, last = max(int(near[0]) - 1, 0), min(int(near[1]), len(self.time_s) - 1)
            there_s = self.time_s[first : last + 1]
            both = self._running.pieces(first, last)[[self._at_best, len(self.zeros) + self._at_best]]
            moved_s = np.clip(moved_s, there_s[0], there_s[-1])
            step = np.clip(np.searchsorted(there_s, moved_s) - 1, 0, max(last - first - 1, 0))
            since_s = moved_s - there_s[step]
            for part, totals in enumerate(both):
                rate = np.append(np.diff(totals) / np.diff(there_s), 0.0)
                change[part] += sign * (totals[step] + rate[step] * since_s - np.interp(bound_s, there_s, totals))
        return change

    def _unseen(self, missing_s: float, seen_s: float) -> Floats:
        """Share of what was seen that may have flowed in gaps too long to be bridged, shape (2, N_TRIALS).

        Nothing is assumed to have flowed there; anything up to twice the usual flow of the window may have. How much of
        that is the same for all gaps of a ride.
        """
        return 2 * missing_s / seen_s * self._missed if seen_s > 0 else np.zeros((2, 1))


def _hidden(rate: Floats, readings: Readings) -> Hidden:
    """What cancelled within the steps of an averaged log."""
    return hidden(rate, readings.step_h, readings.counted & ~readings.bridged)
