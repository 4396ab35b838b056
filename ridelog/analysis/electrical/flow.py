"""The electrical recording's own story: what it can tell, what flowed in any span of time, and how sure that is.

Everything here stands on the electrical recording's own clock and samples, before anything is joined or resampled.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from ridelog.analysis.electrical.bridges import Readings, missing_steps
from ridelog.analysis.electrical.charge import Rule
from ridelog.analysis.electrical.charger import charging_mask
from ridelog.analysis.electrical.either_way import EitherWay
from ridelog.analysis.electrical.flow_model import (
    UNKNOWN_THROUGHPUT,
    FlowModel,
    Span,
    Throughput,
)
from ridelog.analysis.electrical.rest import (
    Rest,
    cut_off_at_zero,
    find_rest,
    held_at_zero,
    idle_mask,
    quiet_runs,
    rests_elsewhere,
    standing_mask,
)
from ridelog.analysis.electrical.sensor import SensorLimits, sensor_limits
from ridelog.analysis.electrical.volts import volts_at_currents
from ridelog.analysis.electrical.zero import LARGEST_STANDBY_A, Zero, current_zero
from ridelog.arrays import Floats, Mask, default_gap_limit_s, pause_steps, time_gaps
from ridelog.constants import NOMINAL_PACK_V
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.trials import UNKNOWN, Uncertain, exact

MOST_AT_ZERO = 0.3  # share of readings at rest that noise may take to 0 or below; more is what rest looks like

# Missing samples are bridged up to this long by a straight line and what such lines miss elsewhere in the same log.
# Beyond, the rest of the ride says little about what happened unseen.
LONGEST_BRIDGE_S = 30.0


@dataclass(frozen=True)
class Window:
    """What flowed in a span of time: charge [Ah] and energy [Wh], unknown where the recording cannot tell."""

    charge: Throughput
    energy: Throughput

    @property
    def told(self) -> "Window":
        """As people are told of it, see `Throughput.told`."""
        return Window(self.charge.told, self.energy.told)


@dataclass(frozen=True)
class ElectricalFlow:
    """What went through the battery terminals.

    Attributes
    ----------
    time_s, current_a, power_w : the samples that are integrated, shape (n,); ``None`` where the recording has none
    charge, energy : models of the charge and the energy, ``None`` where the recording cannot tell them
    shows_return : false where the log cannot show current into the battery: then what was returned is not known
    standing : samples at which the bike stands, shape (n,)
    rest, zero : what the current sensor shows at rest, and its zero error; ``None`` without battery current
    covered_pct : share of the recording's time that lies between samples no further apart than usual [%]
    missing_s : time in gaps that are too long to be bridged [s]
    assumed : limits of the sensor that the bike file does not give, by the keys that they have there
    either_way : where a log that drops the sign holds what may have been drawn or returned; ``None`` elsewhere
    drawn_sign_only : true where nothing but the sign of what was drawn, below zero throughout, says that it shows one
    """

    time_s: Floats
    current_a: Floats | None
    power_w: Floats | None
    charge: FlowModel | None
    energy: FlowModel | None
    shows_return: bool
    standing: Mask
    rest: Rest | None
    zero: Zero | None
    covered_pct: float
    missing_s: float
    assumed: Mapping[str, float]
    findings: tuple[Finding, ...]
    either_way: EitherWay | None = None
    drawn_sign_only: bool = False

    def between(self, start_s: float, end_s: float) -> Window:
        """What flowed from ``start_s`` to ``end_s``; a step cut by a bound counts in proportion.

        Parameters
        ----------
        start_s, end_s : bounds of the window [s]

        Returns
        -------
        Charge and energy, unknown where the log does not hold them.
        """
        return self.windows([(start_s, end_s)])[0]

    def windows(self, spans_s: Sequence[Span]) -> list[Window]:
        """What flowed in each of some windows, as `ElectricalFlow.between` gives it.

        Parameters
        ----------
        spans_s : bounds of the windows [s]

        Returns
        -------
        Charge and energy of each.
        """
        return [Window(*pair) for pair in zip(self.charges(spans_s), self.energies(spans_s), strict=True)]

    def charges(self, spans_s: Sequence[Span]) -> list[Throughput]:
        """The charge alone that flowed in each of some windows [Ah]."""
        return self._of(self.charge, spans_s)

    def energies(
        self, spans_s: Sequence[Span], *, bounds_u_s: Sequence[tuple[float, float]] | None = None
    ) -> list[Throughput]:
        """The energy alone that flowed in each of some windows [Wh].

        Parameters
        ----------
        spans_s : bounds of the windows [s]
        bounds_u_s : standard uncertainties of the bounds, as many; 0 by default [s]

        Returns
        -------
        Drawn and returned of each, unknown where the log does not hold them.
        """
        return self._of(self.energy, spans_s, bounds_u_s)

    def energy_between(self, start_s: float, end_s: float) -> Throughput:
        """The energy alone that flowed from ``start_s`` to ``end_s``, as `ElectricalFlow.between` gives it [Wh].

        Parameters
        ----------
        start_s, end_s : bounds of the window [s]

        Returns
        -------
        Drawn and returned, unknown where the log does not hold them.
        """
        return self.energies([(start_s, end_s)])[0]

    def returned_in(self, spans_s: Sequence[Span]) -> Uncertain:
        """The energy that came back in some windows together, during which the battery was logged [Wh].

        Parameters
        ----------
        spans_s : bounds of the windows, apart from each other [s]

        Returns
        -------
        Exactly nothing in none; unknown where the log shows no return.
        """
        if not self.shows_return:
            return UNKNOWN
        return exact(0.0) if self.energy is None else self.energy.together(spans_s).returned

    @cached_property
    def total(self) -> Window:
        """What flowed over everything."""
        return self.between(float(self.time_s[0]), float(self.time_s[-1]))

    @property
    def net_energy(self) -> Uncertain:
        """Drawn less returned over everything; unknown where the log hides what came back [Wh]."""
        if self.shows_return:
            return self.total.told.energy.net
        if self.either_way is None or not self.either_way.bounded or self.energy is None:
            return UNKNOWN
        span_s = (float(self.time_s[0]), float(self.time_s[-1]))
        return self.either_way.less(self.energy.window(*span_s).drawn, self.energy, span_s, times=2)

    def _of(
        self,
        model: FlowModel | None,
        spans_s: Sequence[Span],
        bounds_u_s: Sequence[tuple[float, float]] | None = None,
    ) -> list[Throughput]:
        if model is None:
            return [UNKNOWN_THROUGHPUT] * len(spans_s)
        flowed = model.windows(spans_s, bounds_u_s=bounds_u_s)
        if self.shows_return:
            return flowed
        drawn = [each.drawn for each in flowed]
        if self.either_way is not None:
            drawn = [self.either_way.less(each, model, span) for each, span in zip(drawn, spans_s, strict=True)]
        return [Throughput(each, UNKNOWN) for each in drawn]


NO_FLOW = ElectricalFlow(
    np.zeros(1), None, None, None, None, False, np.zeros(1, dtype=bool), None, None, 0.0, 0.0, {}, ()
)


def electrical_flow(
    recording: Recording | None,
    *,
    sensor: SensorSection | None = None,
    speed_mps: Floats | None = None,
    gap_limit_s: float | None = None,
) -> ElectricalFlow:
    """Charge and energy of a recording, as far as it tells them.

    Parameters
    ----------
    recording : the electrical recording; ``None`` gives `NO_FLOW`
    sensor : what the bike file says of the sensor
    speed_mps : speed at the recording's samples, to tell standing from riding; ``None`` where it is not known [m/s]
    gap_limit_s : longest step that is integrated [s]; by default 10 s, or
        `ridelog.arrays.default_gap_limit_s` where the log's usual steps are so long

    Returns
    -------
    What flowed in any window of it, and what the log shows of its sensor.
    """
    carrier = None if recording is None else next((c for c in ("current_a", "power_w") if c in recording.frame), None)
    if recording is None or carrier is None:
        return NO_FLOW
    sensor = sensor or SensorSection()
    known = np.isfinite(recording.frame[carrier].to_numpy())
    if known.sum() < 2:  # nothing can be integrated over a single sample
        return NO_FLOW
    usual_s = default_gap_limit_s(recording.time_s[known])
    limit_s = gap_limit_s if gap_limit_s is not None else max(usual_s, LONGEST_BRIDGE_S)
    time_s = _kept(recording.time_s, known)
    paused = pause_steps(time_s, recording.pauses_s)
    counted = ~(time_gaps(time_s, limit_s) | paused)
    covered = ~(time_gaps(time_s, usual_s) | paused)
    power, volts, findings = _power(recording, known)
    current = _kept(recording.frame["current_a"].to_numpy(), known) if carrier == "current_a" else None
    speed = np.full(len(time_s), np.nan) if speed_mps is None else _kept(speed_mps, known)
    standing = standing_mask(time_s, speed)
    if current is not None:  # a charger's current is no return of the ride's
        charging = charging_mask(time_s, current, standing, sensor=sensor)
        current = np.where(charging, 0.0, current) if charging.any() else current
    signed = current if current is not None else np.asarray(power)
    stands = bool(standing.sum() >= 10)
    at_rest = standing if stands else _idle(time_s, signed, speed, standing, sensor)
    shows, why = _shows_return(recording, time_s, signed, at_rest)
    rest = None if current is None else replace(find_rest(time_s, current, at_rest), standing=stands)
    own = _Log(time_s, current, power, volts, standing, counted, sensor, rest)
    models = own.models()
    if shows and any(model is not None and model.unseen_return is not None for model in models):
        why = (Finding("nothing-returned", "note", {"file": recording.called}),)
    return ElectricalFlow(
        time_s, current, power, *models, shows, standing, own.rest, own.zero,
        _share_pct(time_s, covered), float(np.diff(time_s)[~counted].sum()), own.limits.assumed, (*findings, *why),
        drawn_sign_only=shows and not recording.can_show_return and not (signed < 0).any() and _signs_drawn(recording),
    )  # fmt: skip


def _idle(time_s: Floats, current_a: Floats, speed_mps: Floats, standing: Mask, sensor: SensorSection) -> Mask:
    """Where the current of a bike that hardly stands rests: more than standby and zero explain is a motor's.

    Nowhere, where it stands for a moment and reads something else.
    """
    if not np.isfinite(speed_mps).any():
        return idle_mask(time_s, current_a)
    limits = sensor_limits(sensor)
    standby_a = LARGEST_STANDBY_A if limits.standby_a is None else limits.standby_a
    idle = idle_mask(time_s, current_a, explained_a=standby_a + limits.zero_a)
    return np.zeros_like(idle) if rests_elsewhere(current_a, idle, standing) else idle


@dataclass(frozen=True)
class _Log:
    """What the models are made of, worked out once; arrays of shape (n,), ``counted`` of shape (n - 1,)."""

    time_s: Floats
    current: Floats | None
    power: Floats | None
    volts: Floats | None
    stops: Mask
    counted: Mask
    sensor: SensorSection
    rest: Rest | None

    @cached_property
    def limits(self) -> SensorLimits:
        """What the sensor keeps to."""
        return sensor_limits(self.sensor)

    @cached_property
    def bridged(self) -> Mask:
        """Counted steps that span missing samples, shape (n - 1,)."""
        return missing_steps(self.time_s, self.counted)

    @cached_property
    def zero(self) -> Zero | None:
        """The zero error of the current."""
        return None if self.rest is None else self._zero(self.rest)

    def _zero(self, rest: Rest) -> Zero:
        limits = self.limits
        return current_zero(
            rest,
            limit_a=limits.zero_a,
            limit_stated="current_zero_limit_a" not in limits.assumed,
            standby_a=limits.standby_a,
            gain=limits.gain,
        )

    @cached_property
    def standing(self) -> Mask:
        """The stops without what is too much for a bike that stands."""
        if self.current is None:
            return self.stops
        mask: Mask = self.stops & (np.abs(self.current) <= 1.0)
        return mask

    def models(self) -> tuple[FlowModel | None, FlowModel | None]:
        """Charge and energy."""
        if self.current is None or self.rest is None or self.zero is None:
            return None, None if self.power is None else self._power_only(self.power)
        one = np.broadcast_to(1.0, len(self.time_s))
        charge = self._model(self.current, one, self.counted, self.rest, self.zero, volts=False)
        if self.volts is None:
            return charge, None
        known = np.isfinite(self.volts)
        counted = self.counted & known[:-1] & known[1:]
        if not counted.any():
            return charge, None
        volts = np.where(known, self.volts, 0.0)
        return charge, self._model(self.current, volts, counted, self.rest, self.zero, volts=True)

    def _model(
        self, current: Floats, weight: Floats, counted: Mask, rest: Rest, zero: Zero, *, volts: bool
    ) -> FlowModel:
        rule: Rule = "mean" if self.sensor.averaged else "clip"
        quiet = quiet_runs(self.time_s, current, rest, ~counted)
        readings = Readings(self.time_s, current, weight, quiet, self.standing, counted, self.bridged & counted, rest)
        return FlowModel(readings, zero, self.limits, rule=rule, with_voltage=volts)

    def _power_only(self, power: Floats) -> FlowModel:
        """Power without current: its zero error is taken as the current's at a nominal voltage."""
        rest = Rest(None, 0, 0.0, 0.0, 0.0)
        zero = self._zero(rest)
        known = np.isfinite(power)
        current = np.where(known, power, 0.0) / NOMINAL_PACK_V
        return self._model(
            current,
            np.broadcast_to(NOMINAL_PACK_V, len(power)),
            self.counted & known[:-1] & known[1:],
            rest,
            zero,
            volts=True,
        )


def _kept(values: Floats, known: Mask) -> Floats:
    """The values of the samples that are known; shared where these are all."""
    return values if known.all() else values[known]


def _power(recording: Recording, known: Mask) -> tuple[Floats | None, Floats | None, tuple[Finding, ...]]:
    """Battery power and voltage at the known samples: volts times amperes sample by sample, else the logged power."""
    frame, time_s = recording.frame, recording.time_s
    if "current_a" in frame and "voltage_v" in frame and bool(np.isfinite(frame["voltage_v"]).any()):
        amperes = _kept(frame["current_a"].to_numpy(), known)
        volts = volts_at_currents(time_s, frame["voltage_v"].to_numpy(), time_s[known], amperes, LONGEST_BRIDGE_S)
        return volts * amperes, volts, ()
    if "power_w" in frame:
        watts = frame["power_w"].to_numpy()[known]
        if "current_a" in frame:
            return watts, _quotient(time_s[known], watts, frame["current_a"].to_numpy()[known]), ()
        return watts, None, (Finding("no-current", "note", {"file": recording.called}),)
    return None, None, (Finding("no-voltage", "warning", {"file": recording.called}),)


def _quotient(time_s: Floats, watts: Floats, amperes: Floats, *, least_a: float = 0.5) -> Floats:
    """Voltage from power and current; between samples with too little current to tell it a straight line."""
    telling = np.abs(amperes) >= least_a
    if not telling.any():
        return np.full(len(time_s), np.nan)
    return np.interp(time_s, time_s[telling], watts[telling] / amperes[telling])


def _share_pct(time_s: Floats, counted: Mask) -> float:
    span_s = float(time_s[-1] - time_s[0]) if len(time_s) else 0.0
    return 100.0 * float(np.diff(time_s)[counted].sum()) / span_s if span_s else 0.0


def _shows_return(
    recording: Recording, time_s: Floats, signed: Floats, at_rest: Mask
) -> tuple[bool, tuple[Finding, ...]]:
    """Whether a flow into the battery would be seen in this log, and the finding where it would not.

    A log that holds not one negative value may come from a ride without any return, or from a logger that clips at zero
    or drops the sign. Its values alone cannot tell the two apart; a sign that it writes, or the user, can. A sign that
    only what was drawn bears proves less: where the log stays at exactly 0 for seconds, it may cut off there.
    """
    cut = False
    if recording.can_show_return is not False:
        if recording.can_show_return or bool((signed < 0).any()):
            return True, ()
        cut = cut_off_at_zero(signed, at_rest) or (_signs_drawn(recording) and held_at_zero(time_s, signed))
        if recording.writes_sign and not cut:
            return True, ()
    rests = signed[at_rest] if at_rest.sum() >= 10 else np.zeros(1)
    cut = cut or (bool((rests == 0).mean() <= MOST_AT_ZERO) and held_at_zero(time_s, signed))
    return False, (cannot_show_return(recording, signed, cuts_off=cut),)


def _signs_drawn(recording: Recording) -> bool:
    """Whether a log was written with what is drawn below zero, so that its signs are those of what was drawn."""
    signs = [each.sign for each in recording.columns if each.channel in ("current_a", "power_w")]
    return bool(signs) and max(signs) < 0


def cannot_show_return(recording: Recording, signed: Floats, *, cuts_off: bool = False) -> Finding:
    """What to say of a log that cannot show a flow into the battery.

    Parameters
    ----------
    recording : the log
    signed : its known values of current or power
    cuts_off : they show that something did come back, of which it wrote 0

    Returns
    -------
    The finding.
    """
    zero_pct = None if recording.can_show_return is False else 100.0 * float(np.mean(signed == 0))
    facts: dict[str, Fact] = {"file": recording.called, "unsigned": zero_pct is None, "zero_pct": zero_pct}
    facts["cuts_off"] = cuts_off
    return Finding("cannot-show-return", "warning", facts)
