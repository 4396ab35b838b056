"""A finding: something that the user must know before believing or using a number."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "danger"]

SEVERITIES: tuple[Severity, ...] = ("danger", "warning", "note")  # gravest first

# Every code with its meaning. Scripts rely on the codes; README lists the same table.
CODES: Mapping[str, str] = {
    # what a log can tell
    "cannot-show-return": "a log that clips at zero or drops the sign: what came back is not known",
    "no-battery-current": "no file holds battery current or battery power",
    "motor-current-only": "only motor or phase current is logged, which is not battery current",
    "no-current": "power is logged, current is not: Wh only",
    "no-voltage": "current is logged, voltage is not: Ah only",
    "no-speed": "no file holds speed: braking is found from the returned current alone",
    "height-partial": "the height is known for a part of the ride only: which numbers are of that part",
    "no-height": "no file holds height: no hills, and what was available is not known",
    "height-rough": "the height wanders so much that grades are taken over longer stretches of road, and are less sure",
    "gaps": "part of the electrical log is missing: how much was bridged, and where nothing is assumed to have flowed",
    "bike-defaults": "what the bike file leaves open was assumed, with these values",
    "sensor-defaults": "limits of the current and voltage sensor that the bike file leaves open were assumed",
    "current-at-rest": "what the current reads at rest, its noise and its smallest step",
    "zero-beyond-limit": "at rest the current is off by more than the limit of its zero and a standby draw explain",
    "current-saturated": "the current piles up at its extreme: a controller's limit, or the end of the sensor's range",
    "channel-stuck": "current, voltage or speed repeats itself to the last digit while other channels move",
    "voltage-without-sag": "the voltage does not move with the current: a setting, or a table of the state of charge",
    "step-too-long": "the braking events are too short for the log's step to tell them one by one",
    "counters-agree": "the device's own counters of charge and energy fit its samples",
    "counters-disagree": "the device's own counters of charge and energy do not fit its samples",
    "charging-while-standing": "current into the battery while the bike stands: a charger, not braking",
    "charge-without-braking": "current into the battery while the bike neither slows nor descends: another source",
    "return-without-regen": "current into the battery although the motor of the bike file cannot return any",
    "recovered-unusually-high": "far more came back than ordinary rides return: what may explain it, or be wrong",
    # how the pack was treated
    "charge-path": "current into a battery of which the bike file does not say that charge may enter there",
    "charge-cut-out": "the current into the battery broke off at once while the bike went on: the charge path opened",
    "regen-weakened": "regen grew weaker while the voltage of full cells was held",
    "cell-overcharged": "cells were above the voltage of a full cell while charge went in",
    "charged-cold": "charge went into the battery while it was colder than charging allows",
    "charge-current-high": "the current into the battery was above the limit in the bike file",
    "start-charge": "how much charge must be free when leaving, so that all that comes back fits",
    "captured-beyond-available": "more came back from braking than it had to offer, beyond the intervals",
    "regen-fades": "the share captured at low speed is smaller than at others, beyond the intervals",
    "regen-limited": "the current into the battery stays at a limit of the controller or the BMS",
    # columns and signs
    "sign-reversed": "the sign of the current was turned, on evidence that is named",
    "sign-assumed": "nothing shows the sign of the current; positive was taken as drawn",
    "sign-doubtful": "the evidence on the sign of the current contradicts itself",
    "unit-unknown": "a column states no unit and nothing shows it; it was left out",
    "unused-field": "a field of a track looks electrical but does not say enough to be used",
    # rows, values and clocks of a file
    "rows-skipped": "rows with the wrong number of fields were skipped",
    "header-repeated": "the header stands again between the rows",
    "values-missing": "cells hold no value",
    "unreadable-values": "values are no numbers",
    "impossible-values": "values that no electric bicycle can reach were left out",
    "rows-without-time": "rows without a time were left out",
    "untimed-samples": "points without a time were left out",
    "unreadable-times": "times could not be read",
    "rows-repeated": "rows stand twice",
    "time-repeated": "samples repeat the time of another one",
    "time-spread": "several samples share each stamp and were spread evenly over it",
    "clock-backward": "the clock stepped back",
    "clock-leap": "the clock leapt ahead within the log",
    "clock-wrapped": "a clock of hours and minutes passed midnight or started again",
    "far-off-times": "times lie far from all others",
    "impossible-date": "the date cannot be; only the seconds between the samples are used",
    "mixed-zones": "some times state a zone and some do not",
    "damaged-tail": "the file is damaged; what came before the damage was kept",
    "check-sum": "a check sum does not fit the content",
    "overlapping-tracks": "tracks of one file overlap in time; the fuller one was kept",
    "member-not-recognised": "an archive holds a file that is no recording",
    # joining the clocks
    "clock-joined": "how the clock of a file was set against the electrical log's, and the agreement reached",
    "clocks-disagree": "the clocks differ by more than clocks of one ride should",
    "clocks-not-joined": "no trustworthy join was found; the ride is measured without that file",
    "no-overlap": "the recordings do not overlap in time",
    "no-wall-time": "no file keeps wall time; the ride has no date",
    "time-zone-unknown": "a clock does not say its time zone",
    "same-file-twice": "a file was given twice",
    "several-current-logs": "several files hold battery current; one is counted",
    "log-continued": "files that continue one another were put together",
    # speed, distance, position
    "motion-sources": "which file speed and distance are taken from",
    "speed-spike": "speeds that a bike cannot reach so fast were left out",
    "hill-cut": "a hill that may go on beyond the known heights; its intervals hold what may lie there",
    "height-leaps": "heights that leap as no road does; the leaps were taken out",
    "way-bridged": "positions are missing over a longer stretch: how the way across it was told",
    "stray-positions": "positions far off the track were left out",
    "speeds-disagree": "speeds of two files disagree",
    "distances-disagree": "distances of two files disagree",
    "wheel-circumference-found": "the circumference of the wheel was found from the track",
    "wheel-circumference-unknown": "turns of the wheel are logged, its circumference is not known",
    # coast-down
    "coasting-short": "too little coasting to fit anything: how much there was, and how to get more",
    "coasting-left-out": "stretches of coasting were left out of the fit",
    "coastdown-vague": "the coast-down tells less than what bikes usually have",
    "coastdown-one-way": "no road was coasted along both ways: wind and grade do not cancel",
    "motor-drag-inside": "the motor's drag is in the rolling resistance that a coast-down gives",
    "motor-unseen": "no battery current is logged: nothing but the speed shows that the motor was off",
    "pedalling-unseen": "neither cadence nor rider power is logged: pedalling would not be seen",
}


@dataclass(frozen=True)
class Finding:
    """One finding.

    ``code`` is one of `CODES`, ``message`` one sentence for a rider.
    ``start_s`` and ``end_s`` bound the time span that it speaks of; ``None`` means the whole ride.
    While a finding belongs to a recording, its seconds count on that recording's clock; in an answer they
    count from the first sample of the reference recording.
    """

    code: str
    severity: Severity
    message: str
    start_s: float | None = None
    end_s: float | None = None

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"{self.code!r} is no code of a finding; add it to CODES and to README")


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, gravest first, otherwise in the order given, without repetitions."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: SEVERITIES.index(finding.severity)))


def said_first(finding: Finding) -> bool:
    """Whether it is said before any number: a danger, or that nobody knows whether charge may enter the pack at all."""
    return finding.severity == "danger" or (finding.code == "charge-path" and finding.severity == "warning")
