"""How much charge and energy left the battery, and how much came back.

The rule is *clip, then trapezoid*: the positive and the negative part of each sample are integrated on their
own, ``drawn = Σ (max(i_k, 0) + max(i_k+1, 0))/2 · Δt``. For samples that are instantaneous readings at a phase
of the logger's own, this is an unbiased estimate of the integral of the positive part, whatever the waveform
does between the samples. Splitting at the zero crossing of the straight line between two samples is exact only
where the current really is a straight line; on steps and half-waves it loses returned charge
(i = 6 + 10 sin(2πt/12 s) A read at 1 s: 0.8 points of the recovered share). Where the samples are means over
the step that they end (``averaged`` in the bike file), each stands for its whole step.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ridelog.analysis.runs import Floats, Mask
from ridelog.findings import Finding
from ridelog.gaps import default_gap_limit_s, pause_steps, time_gaps
from ridelog.recording import Recording

Rule = Literal["clip", "crossing", "mean"]

SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Flow:
    """Running totals of a signed rate, split by direction.

    ``drawn`` and ``returned`` have shape (n,), begin at 0 and never fall; both in the unit of the rate times
    hours. ``covered_s`` is the time that was integrated.
    """

    time_s: Floats
    drawn: Floats
    returned: Floats
    covered_s: float

    @property
    def totals(self) -> tuple[float, float]:
        """Drawn and returned over everything."""
        return float(self.drawn[-1]), float(self.returned[-1])

    def between(self, start_s: float, end_s: float) -> tuple[float, float]:
        """Drawn and returned from ``start_s`` to ``end_s``; a step cut by a bound counts in proportion."""
        bounds = np.array([start_s, end_s])
        drawn = np.interp(bounds, self.time_s, self.drawn)
        returned = np.interp(bounds, self.time_s, self.returned)
        return float(drawn[1] - drawn[0]), float(returned[1] - returned[0])


def split_flow(time_s: Floats, rate: Floats, *, rule: Rule = "clip", counted_mask: Mask | None = None) -> Flow:
    """Integrate a signed rate over time, its two directions apart.

    Parameters
    ----------
    time_s : shape (n,), increasing [s]
    rate : shape (n,), current [A] or power [W], positive out of the battery, no NaN
    rule : "clip" (clip each sample, then trapezoid), "crossing" (split where the straight line between two
        samples crosses zero) or "mean" (each sample is the mean over the step that ends at it)
    counted_mask : shape (n-1,), steps that count; the others are gaps. All, by default

    Returns
    -------
    flow : running totals [Ah] or [Wh]
    """
    step_h = np.diff(time_s) / SECONDS_PER_HOUR
    if counted_mask is not None:
        step_h = np.where(counted_mask, step_h, 0.0)
    before, after = rate[:-1], rate[1:]
    if rule == "mean":
        drawn, returned = np.maximum(after, 0.0), np.maximum(-after, 0.0)
    else:
        drawn = (np.maximum(before, 0.0) + np.maximum(after, 0.0)) / 2
        returned = (np.maximum(-before, 0.0) + np.maximum(-after, 0.0)) / 2
    if rule == "crossing":
        crosses = before * after < 0
        excess = np.zeros_like(drawn)  # what the two trapezoids count beyond the two triangles
        np.divide(-before * after, 2 * np.abs(before - after), out=excess, where=crosses)
        drawn, returned = drawn - excess, returned - excess
    running = [np.concatenate(([0.0], np.cumsum(part * step_h))) for part in (drawn, returned)]
    return Flow(time_s, running[0], running[1], float(step_h.sum() * SECONDS_PER_HOUR))


@dataclass(frozen=True)
class ElectricalFlow:
    """What went through the battery terminals, on the electrical recording's own clock and samples.

    ``charge`` [Ah] and ``energy`` [Wh] are ``None`` where the recording cannot tell them. ``shows_return`` is
    false where the log cannot show current into the battery: then what was returned is not known.
    """

    time_s: Floats
    current_a: Floats | None
    power_w: Floats | None
    charge: Flow | None
    energy: Flow | None
    shows_return: bool
    covered_pct: float
    findings: tuple[Finding, ...]


NO_FLOW = ElectricalFlow(np.zeros(1), None, None, None, None, False, 0.0, ())


def electrical_flow(
    recording: Recording | None, *, averaged: bool = False, gap_limit_s: float | None = None
) -> ElectricalFlow:
    """Charge and energy of a recording, as far as it tells them.

    Parameters
    ----------
    recording : the electrical recording; ``None`` gives `NO_FLOW`
    averaged : the samples are means over the step that they end
    gap_limit_s : longest step that is integrated [s]; by default
        `ridelog.gaps.default_gap_limit_s` of the recording
    """
    if recording is None:
        return NO_FLOW
    frame = recording.frame
    rule: Rule = "mean" if averaged else "clip"
    carrier = "current_a" if "current_a" in frame else "power_w" if "power_w" in frame else None
    if carrier is None:
        return ElectricalFlow(recording.time_s, None, None, None, None, False, 0.0, ())
    known = np.isfinite(frame[carrier].to_numpy())
    time_s = recording.time_s[known]
    limit_s = gap_limit_s if gap_limit_s is not None else default_gap_limit_s(recording.time_s)
    counted = ~(time_gaps(time_s, limit_s) | pause_steps(time_s, recording.pauses_s))
    current = frame["current_a"].to_numpy()[known] if carrier == "current_a" else None
    power, findings = _power(recording, known, limit_s)
    charge = split_flow(time_s, current, rule=rule, counted_mask=counted) if current is not None else None
    energy = _energy(time_s, power, rule, counted)
    signed = current if current is not None else power
    shows, why = _shows_return(recording, np.asarray(signed))
    return ElectricalFlow(
        time_s, current, power, charge, energy, shows, _covered_pct(time_s, counted), (*findings, *why)
    )


def _energy(time_s: Floats, power: Floats | None, rule: Rule, counted: Mask) -> Flow | None:
    if power is None:
        return None
    known_steps = np.isfinite(power[:-1]) & np.isfinite(power[1:])
    return split_flow(time_s, np.nan_to_num(power), rule=rule, counted_mask=counted & known_steps)


def _power(recording: Recording, known: Mask, gap_limit_s: float) -> tuple[Floats | None, tuple[Finding, ...]]:
    """Battery power at the known samples: volts times amperes sample by sample, else the logged power."""
    frame, time_s = recording.frame, recording.time_s
    if "current_a" in frame and "voltage_v" in frame:
        volts = _bridged(time_s, frame["voltage_v"].to_numpy(), time_s[known], gap_limit_s)
        return volts * frame["current_a"].to_numpy()[known], ()
    if "power_w" in frame:
        watts = frame["power_w"].to_numpy()[known]
        if "current_a" in frame:
            return watts, ()
        text = f"{recording.called} logs battery power but no current: Wh are given, Ah are not known."
        return watts, (Finding("no-current", "note", text),)
    text = f"{recording.called} logs no battery voltage: Ah are given, Wh are not known."
    return None, (Finding("no-voltage", "warning", text),)


def _bridged(time_s: Floats, values: Floats, at_s: Floats, gap_limit_s: float) -> Floats:
    """Values at ``at_s``, straight lines between known samples that are no gap apart, NaN elsewhere."""
    known = np.isfinite(values)
    if known.sum() < 2:
        return np.full(len(at_s), np.nan)
    known_s = time_s[known]
    result: Floats = np.interp(at_s, known_s, values[known], left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(known_s, at_s, side="left"), 1, len(known_s) - 1)
    on_sample = known_s[after] == at_s
    result[(known_s[after] - known_s[after - 1] > gap_limit_s) & ~on_sample] = np.nan
    return result


def _covered_pct(time_s: Floats, counted: Mask) -> float:
    span_s = float(time_s[-1] - time_s[0]) if len(time_s) else 0.0
    return 100.0 * float(np.diff(time_s)[counted].sum()) / span_s if span_s else 0.0


def _shows_return(recording: Recording, signed: Floats) -> tuple[bool, tuple[Finding, ...]]:
    """Whether a flow into the battery would be seen in this log, and the finding where it would not.

    A log that holds not one negative value may come from a ride without any return, or from a logger that
    clips at zero or drops the sign. The values alone cannot tell the two apart.
    """
    if recording.can_show_return is not False and (recording.can_show_return or bool((signed < 0).any())):
        return True, ()
    cannot = "what came back is not known (it is not 0 %)"
    if recording.can_show_return is False:
        text = f"{recording.called} says that its current has no sign: {cannot}."
    else:
        zero_pct = 100.0 * float(np.mean(signed == 0))
        text = (
            f"{recording.called} never shows current into the battery; {zero_pct:.0f} % of its samples are exactly 0. "
            f"A logger that clips at zero or drops the sign looks the same as a ride without return, so {cannot}. "
            "If the log does carry a sign, say `signed = true` under [log] in a column map."
        )
    return False, (Finding("cannot-show-return", "warning", text),)
