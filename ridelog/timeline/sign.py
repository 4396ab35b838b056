"""Which way the current flows, where its own log does not show it: by how the ride's other files say the bike moved.

The clocks may have been joined by power against motion, and a wrong sign then joins them wrongly. So the ride is put
together with either sign, and the sign with which the current goes with the motion is the right one.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from ridelog.findings import Fact, Finding
from ridelog.recording import ColumnReading, Recording, Ride
from ridelog.signs import SignBasis, SignEvidence, sign_by_effort

OPEN_CODES = frozenset({"sign-open", "sign-assumed"})
_FLOWS = ("current_a", "power_w")


def sign_by_motion(ride: Ride, put_together: Callable[[Recording], Ride]) -> Ride:
    """The ride, its current turned where the motion shows that it flows the other way.

    Parameters
    ----------
    ride : with its current as its log was read
    put_together : makes the ride with another recording in the place of its electrical one

    Returns
    -------
    ride : as it was, where the sign is known or the motion does not show it; a sign that a header or a map states is
        kept, with a finding where the motion contradicts it
    """
    reading = _flow_reading(ride.electrical)
    if ride.electrical is None or reading is None or len(ride.recordings) < 2:
        return ride
    if reading.sign_basis in ("words", "map"):
        return _held_against(ride, reading)
    if reading.sign_basis not in ("amounts", "nothing"):
        return ride
    other = put_together(_turned(ride.electrical))
    as_read, turned = _motion_says(ride), _motion_says(other)
    if as_read is not None and as_read.way == "as read" and not (turned and turned.way == "as read"):
        return _settled(ride, reading, as_read, is_turned=False)
    if turned is not None and turned.way == "as read" and not (as_read and as_read.way == "as read"):
        return _settled(other, reading, turned, is_turned=True)
    return ride


def _flow_reading(recording: Recording | None) -> ColumnReading | None:
    """How the current, or else the power, of a log was read."""
    found = {reading.channel: reading for reading in (recording.columns if recording else ())}
    return found.get("current_a") or found.get("power_w")


def _motion_says(ride: Ride) -> SignEvidence | None:
    """What the motion of the joined ride says of its current as it is."""
    series, flow = ride.series, next((name for name in _FLOWS if name in ride.series), None)
    if flow is None or "speed_mps" not in series:
        return None
    height = series["altitude_m"].to_numpy(dtype=float) if "altitude_m" in series else None
    current, speed_mps, time_s = (series[name].to_numpy(dtype=float) for name in (flow, "speed_mps", "elapsed_s"))
    what = "current" if flow == "current_a" else "power"
    return sign_by_effort(current, speed_mps, time_s, height, what=what)


def _held_against(ride: Ride, reading: ColumnReading) -> Ride:
    """The ride, with a finding where the motion contradicts the sign that its header or a map states."""
    said = _motion_says(ride)
    if said is None or said.way != "reversed" or any(finding.code == "sign-doubtful" for finding in ride.findings):
        return ride
    facts = {**_named(ride, reading), **said.facts, "by_map": reading.sign_basis == "map"}
    return replace(ride, findings=(Finding("sign-doubtful", "warning", facts), *ride.findings))


def _settled(ride: Ride, reading: ColumnReading, said: SignEvidence, *, is_turned: bool) -> Ride:
    """The ride without the doubt on its sign; the evidence is told where it was turned against its log."""
    findings = tuple(finding for finding in ride.findings if finding.code not in OPEN_CODES)
    if (reading.sign < 0) != is_turned:
        # as the log has it, the current goes against the motion
        facts = {**_named(ride, reading), **said.facts, "effort_correlation": -_correlation(said)}
        findings = (Finding("sign-reversed", "warning", facts), *findings)
    parts = tuple(_known(part, "motion") if part is ride.electrical else part for part in ride.recordings)
    electrical = next((new for new, old in zip(parts, ride.recordings, strict=True) if old is ride.electrical), None)
    reference = electrical if ride.reference is ride.electrical and electrical is not None else ride.reference
    return replace(ride, findings=findings, recordings=parts, electrical=electrical, reference=reference)


def _correlation(evidence: SignEvidence) -> float:
    value = evidence.facts["effort_correlation"]
    return float(value) if isinstance(value, int | float) else 0.0


def _named(ride: Ride, reading: ColumnReading) -> dict[str, Fact]:
    return {"file": ride.electrical.called if ride.electrical else "", "column": reading.header}


def _turned(recording: Recording) -> Recording:
    """The same log with its current and power the other way round."""
    flows = {name: -recording.frame[name] + 0.0 for name in _FLOWS if name in recording.frame}
    columns = tuple(
        replace(reading, sign=-reading.sign) if reading.channel in _FLOWS else reading for reading in recording.columns
    )
    return replace(recording, frame=recording.frame.assign(**flows), columns=columns)


def _known(recording: Recording, basis: SignBasis | None) -> Recording:
    """The same log with its sign beyond doubt."""
    findings = tuple(finding for finding in recording.findings if finding.code not in OPEN_CODES)
    return replace(_with_basis(recording, basis), findings=findings)


def _with_basis(recording: Recording, basis: SignBasis | None) -> Recording:
    columns = tuple(
        replace(reading, sign_basis=basis) if reading.channel in _FLOWS else reading for reading in recording.columns
    )
    return replace(recording, columns=columns)


# What a sign rests on, the surest first.
_SUREST_FIRST: tuple[SignBasis | None, ...] = ("map", "words", "values", "motion", "amounts", "nothing", None)


def with_one_sign(parts: Sequence[Recording]) -> list[Recording]:
    """Logs of one device, their currents with one sign: that of the log whose sign is surest, or of the longest.

    A device does not turn its sign on the way, but where only the amounts tell, one part may have been taken the other
    way round: one that is all descent.
    """
    readings = [_flow_reading(part) for part in parts]
    known = [(part, reading) for part, reading in zip(parts, readings, strict=True) if reading is not None]
    ways = {(reading.sign, reading.sign_basis) for _, reading in known}
    if len(known) < len(parts) or len(ways) == 1:
        return list(parts)
    surest = min(known, key=lambda each: (_SUREST_FIRST.index(each[1].sign_basis), -each[0].duration_s))[1]
    alike = []
    for part, reading in known:
        basis = surest.sign_basis
        turned = _turned(part) if reading.sign != surest.sign else part
        alike.append(_known(turned, basis) if basis not in ("amounts", "nothing") else _with_basis(turned, basis))
    return alike
