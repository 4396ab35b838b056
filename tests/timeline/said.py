"""What a ride's findings say."""

from collections.abc import Mapping
from typing import Any

from ridelog.recording import Ride


def codes(ride: Ride) -> list[str]:
    """The codes of the ride's findings."""
    return [finding.code for finding in ride.findings]


def facts(ride: Ride, code: str) -> Mapping[str, Any]:
    """The facts of the one finding of a code."""
    (finding,) = [finding for finding in ride.findings if finding.code == code]
    return finding.facts
