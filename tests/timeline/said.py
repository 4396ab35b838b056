"""What a ride's findings say."""

from ridelog.recording import Ride


def codes(ride: Ride) -> list[str]:
    """The codes of the ride's findings."""
    return [finding.code for finding in ride.findings]


def message(ride: Ride, code: str) -> str:
    """The one message of a code."""
    (text,) = [finding.message for finding in ride.findings if finding.code == code]
    return text
