"""A finding: something that the user must know before believing or using a number.

A finding carries facts; the sentence is formed from them in `ridelog.tell.findings`, and no program reads it.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Literal

from ridelog.lazy import dataclass

Severity = Literal["note", "warning", "danger"]
Scalar = str | bool | int | float | None  # in this order they are read back
Fact = Scalar | tuple[Scalar, ...]

SEVERITIES: tuple[Severity, ...] = ("danger", "warning", "note")  # gravest first

# Every code with its meaning. Scripts rely on the codes; docs/findings.md says what to do about each.
CODES: Mapping[str, str] = {
    # what a log shows
    "flow-while-braked": "current flowed while braked, in a log without signs: it may have been drawn or returned",
    "nothing-returned": "the log can show a return, and no sample does: nothing came back",
    "cannot-show-return": "the log clips at zero or drops the sign, so we cannot say how much came back",
    "no-battery-current": "no file holds battery current or battery power",
    "motor-current-only": "only motor or phase current is logged, which is not battery current",
    "no-current": "power is logged but current is not: results in Wh only",
    "no-voltage": "current is logged but voltage is not: results in Ah only",
    "voltage-of-cells": "the battery voltage is the sum of the cell voltages, as no other is logged",
    "counters-alone": "what the device's own counters of charge and energy say where no current can check them",
    "no-speed": "no file holds speed: braking is found from the returned current alone, or not at all",
    "height-partial": "the height is known for part of the ride only, and which numbers are for that part",
    "no-height": "no file holds height: no hills, and we cannot say what was available",
    "height-rough": "the height wanders, so grades are averaged over longer stretches and are less certain",
    "gaps": "part of the electrical log is missing: how much was bridged, and how much is left out",
    "bike-defaults": "the values assumed where the bike file gives none",
    "sensor-defaults": "the accuracy assumed for the current and voltage sensor where the bike file gives none",
    "current-at-rest": "what the current reads at rest, its noise and its smallest step",
    "zero-beyond-limit": "at rest the current reads more than its zero error and the standby draw explain",
    "current-saturated": "the current piles up at one value: a controller's limit, or the end of the sensor's range",
    "channel-stuck": "current, voltage or speed repeats itself to the last digit while other channels change",
    "values-held": "current or voltage is read anew less often than rows are written; only new readings are used",
    "voltage-without-sag": "the voltage does not respond to the current: a setting, or a state-of-charge table",
    "step-too-long": "the samples are too far apart to measure single braking events",
    "counters-agree": "the device's own counters of charge and energy match its samples",
    "counters-disagree": "the device's own counters of charge and energy do not match its samples",
    "charging-while-standing": "current into the battery while the bike stands: a charger, not braking",
    "charge-without-braking": "current into the battery while the bike neither slows down nor descends",
    "return-without-regen": "current into the battery although the motor in the bike file cannot return any",
    "recovered-unusually-high": "far more came back than on ordinary rides, and what might explain it",
    # how the pack was treated
    "charge-path": "charge went in, and the bike file does not say that this pack allows it",
    "charge-cut-out": "the current into the battery stopped at once while the bike rolled on: the charge path opened",
    "regen-weakened": "regen grew weaker while full cells were held at their voltage",
    "cell-overcharged": "charge went in while cells were above the voltage of a full cell",
    "charged-cold": "charge went into the battery while it was too cold for charging",
    "charge-current-high": "the current into the battery was above the limit in the bike file",
    "start-charge": "how much room the battery needs at the start so that everything that comes back fits",
    "height-still": "the recorded height does not move on a ride on which more came back than braking had available",
    "captured-beyond-available": "more came back from braking than was available, by more than the intervals allow",
    "regen-fades": "less is captured at low speed than at higher speeds, by more than the intervals allow",
    "regen-limited": "the current into the battery stays at a limit of the controller or the BMS",
    # columns and signs
    "sign-reversed": "the sign of the current was turned round, and on what evidence",
    "sign-assumed": "nothing but the amounts that flowed each way shows the sign of the current",
    "sign-open": "nothing shows the sign of the current, so there is no share to give",
    "sign-doubtful": "the evidence for the sign of the current is contradictory",
    "unit-unknown": "a column has no unit and nothing shows which it is, so it was left out",
    "unused-field": "a field of a track looks electrical but says too little to be used",
    # rows, values and clocks of a file
    "rows-skipped": "rows with the wrong number of fields were skipped",
    "header-repeated": "the header is repeated among the rows",
    "values-missing": "some cells are empty",
    "unreadable-values": "some values are not numbers",
    "no-fix": "positions at latitude 0, longitude 0 were left out: the receiver had no fix",
    "unreadable-cells": "cells of a column of numbers that are none were left out, or the column was",
    "infinite-values": "infinite numbers in a column count as not known",
    "impossible-values": "values that no electric bicycle can reach were left out",
    "channel-left-out": "a channel of which many values are impossible was left out",
    "no-bicycle": "the voltage or current is that of a larger vehicle",
    "rows-without-time": "rows without a time were left out",
    "untimed-samples": "points without a time were left out",
    "unreadable-times": "points whose time cannot be read were left out",
    "rows-counted": "the log states no time: its rows are as far apart as the column map says",
    "rows-repeated": "rows that repeat the row above were left out",
    "time-repeated": "samples with the time of another sample were left out",
    "time-spread": "several samples share each time stamp and were spread evenly over it",
    "clock-backward": "the clock stepped back",
    "clock-leap": "the clock jumped ahead within the log",
    "clock-wrapped": "the clock passed midnight or started again from zero",
    "far-off-times": "samples with times far from all others were left out",
    "impossible-date": "the date cannot be right; only the time between samples is used",
    "mixed-zones": "some times give a time zone and some do not",
    "damaged-tail": "the file is damaged; everything before the damage was kept",
    "check-sum": "a checksum does not match the file's content",
    "overlapping-tracks": "tracks in one file overlap in time; the fuller one was kept",
    "member-not-recognised": "an archive holds a file that is not a recording",
    # joining the clocks
    "clock-joined": "how the clock of one file was lined up with the electrical log, and how well they agree",
    "clocks-disagree": "the clocks are further apart than the clocks of one ride should be",
    "clocks-not-joined": "the clocks could not be lined up reliably; the ride is measured without that file",
    "no-overlap": "the recordings do not overlap in time",
    "no-wall-time": "no file gives the time of day; the ride has no date",
    "time-zone-unknown": "a clock does not give its time zone",
    "same-file-twice": "the same file was given twice",
    "several-current-logs": "several files hold battery current; one of them is used",
    "log-continued": "files that follow one another were put together",
    # speed, distance, position
    "motion-sources": "which file and sensor speed and distance come from",
    "speed-spike": "speeds that a bike cannot reach so quickly were left out",
    "hill-cut": "a hill may go on beyond the known heights; its intervals allow for that",
    "height-leaps": "the height jumps as no road does; the jumps were taken out",
    "positions-held": "positions stay the same for seconds while the bike rolls; only new ones are used",
    "way-bridged": "positions are missing over a longer stretch, and how its length was worked out",
    "stray-positions": "positions far from the track were left out",
    "speeds-disagree": "the speeds in two files disagree",
    "distances-disagree": "the distances in two files disagree",
    "wheel-circumference-found": "the wheel's circumference was worked out from the track",
    "wheel-circumference-unknown": "wheel revolutions are logged but the wheel's circumference is not known",
    # coast-down
    "coasting-short": "too little coasting for a result: how much there was, and how to get more",
    "coasting-left-out": "some stretches of coasting were left out of the result",
    "coastdown-vague": "the coast-down is less certain than the values usual for bikes",
    "coastdown-one-way": "no road was coasted in both directions: wind and grade do not cancel out",
    "motor-drag-inside": "the motor's drag is part of the rolling resistance from this coast-down",
    "current-ends": "the current is logged over a part of the log only; the ride is that part",
    "motor-unseen": "no battery current is logged, so only the speed shows that the motor was off",
    "pedalling-unseen": "neither cadence nor rider power is logged, so pedalling would go unnoticed",
    # comparing groups of rides
    "one-ride-in-group": "a group has one ride, so nothing shows how much its rides differ",
    "quantity-unknown-in-group": "no ride of a group tells a quantity",
    "rides-without-partner": "rides without a partner on the same route were left out of the pairs",
    "routes-differ": "the groups share too few rides of one route to be paired",
    "bikes-by-folder": "no bike file names the bikes of compared rides, so that folders tell them apart",
    "errors-not-shared": "errors of loggers or bikes do not cancel between groups, and weigh more than chance",
    "shared-errors-unknown": "rides were measured before ridelog said which of their errors other rides share",
    "ride-model-failed": "no mixed model could be fitted; the means of rides were compared instead",
    "conditions-differ": "groups differ in something else than the set-up",
    "rides-not-corrected": "rides whose ledger is not known stand in corrected figures as they were ridden",
    "rides-with-dangers": "rides of a comparison have findings of severity danger",
}


class Facts(Mapping[str, Fact]):
    """What a finding states, by name; read-only, comparable, and as plain as JSON.

    Parameters
    ----------
    facts : texts, numbers (the unit is in the name, nothing is rounded), true or false, ``None`` for what is not known,
        or lists of these

    Raises
    ------
    TypeError : a value that JSON does not have
    ValueError : a number that is not finite
    """

    __slots__ = ("_facts",)

    def __init__(self, facts: Mapping[str, Any] | None = None) -> None:
        self._facts = {name: _fact(name, value) for name, value in (facts or {}).items()}

    def __getitem__(self, name: str) -> Fact:
        return self._facts[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._facts)

    def __len__(self) -> int:
        return len(self._facts)

    def __hash__(self) -> int:
        return hash(frozenset(self._facts.items()))

    def __repr__(self) -> str:
        return f"Facts({self._facts!r})"


def _fact(name: str, value: Any) -> Fact:
    if isinstance(value, list | tuple):
        return tuple(_scalar(name, each) for each in value)
    return _scalar(name, value)


def _scalar(name: str, value: Any) -> Scalar:
    if type(value).__module__ == "numpy" and hasattr(value, "item"):
        value = value.item()  # numpy's own numbers, which JSON does not know
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, int):
        return int(value)
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"the fact {name} is {value}; what is not known is None")
        return float(value)
    raise TypeError(f"the fact {name} is {value!r}, of {type(value).__name__}; allowed is what JSON has")


NO_FACTS = Facts()


@dataclass(frozen=True)
class Finding:
    """One finding.

    ``code`` is one of `CODES`, ``facts`` is what it states (see `Facts`; any mapping is taken).
    ``start_s`` and ``end_s`` bound the time span that it speaks of; ``None`` means the whole ride.
    While a finding belongs to a recording, its seconds count on that recording's clock; in an answer they
    count from the first sample of the reference recording.
    """

    code: str
    severity: Severity
    facts: Mapping[str, Fact] = NO_FACTS
    start_s: float | None = None
    end_s: float | None = None

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"{self.code!r} is no code of a finding; add it to CODES and to docs/findings.md")
        object.__setattr__(self, "facts", Facts(self.facts))

    def later(self, shift_s: float) -> "Finding":
        """The same on a clock that counts from another moment [s]."""
        moved = [None if at_s is None else at_s + shift_s for at_s in (self.start_s, self.end_s)]
        return replace(self, start_s=moved[0], end_s=moved[1])


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, gravest first, otherwise in the order given, without repetitions."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: SEVERITIES.index(finding.severity)))


# Warnings that put the recovered share itself in doubt.
DOUBTED_SHARE = frozenset(
    {"sign-open", "sign-doubtful", "sign-assumed", "recovered-unusually-high", "zero-beyond-limit"}
)


def doubts_share(finding: Finding) -> bool:
    """Whether the recovered share is in doubt because of it."""
    return finding.severity != "note" and finding.code in DOUBTED_SHARE


def said_first(finding: Finding) -> bool:
    """Whether it is said before any number.

    A danger, that nobody knows whether charge may enter the pack at all, or what puts the share in doubt.
    """
    path_open = finding.code == "charge-path" and finding.severity == "warning"
    return finding.severity == "danger" or path_open or doubts_share(finding)
