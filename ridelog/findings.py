"""A finding: something that the user must know before believing or using a number."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Severity = Literal["note", "warning", "danger"]

SEVERITIES: tuple[Severity, ...] = ("danger", "warning", "note")  # gravest first


@dataclass(frozen=True)
class Finding:
    """One finding.

    ``code`` is a short kebab-case word that scripts may rely on, ``message`` one sentence for a rider.
    ``start_s`` and ``end_s`` bound the time span that it speaks of; ``None`` means the whole ride.
    While a finding belongs to a recording, its seconds count on that recording's clock; in an answer they
    count from the first sample of the reference recording.
    """

    code: str
    severity: Severity
    message: str
    start_s: float | None = None
    end_s: float | None = None


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, gravest first, otherwise in the order given, without repetitions."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: SEVERITIES.index(finding.severity)))
