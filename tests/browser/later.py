"""The sample commute as another logger would have written it, on another clock, and so many days later."""

import re
from datetime import datetime, timedelta

from tests.places import SAMPLES

HEAD = "Stamp;I_batt [mA];U_batt [V];v_wheel [km/h]"
COMMUTE = SAMPLES / "commute"


def log(days: int = 0) -> bytes:
    """The log with an odd header, decimal commas, milliamperes into the battery positive, one hour ahead, no zone."""
    lines = [HEAD]
    for line in (COMMUTE / "controller.csv").read_text().splitlines()[1:]:
        time, current_a, voltage_v, speed_kmh = line.split(",")
        when = datetime.fromisoformat(time.removesuffix("Z")) + timedelta(days=days, hours=1)
        stamp = f"{when:%Y-%m-%d %H:%M:%S}.{when.microsecond // 100_000}"
        values = (stamp, f"{-1000 * float(current_a):.0f}", voltage_v, speed_kmh)
        lines.append(";".join(value.replace(".", ",") for value in values))
    return "\n".join(lines).encode()


def track(days: int = 0) -> bytes:
    """The track, so many days later."""

    def later(found: re.Match[str]) -> str:
        return (datetime.fromisoformat(found[0]) + timedelta(days=days)).isoformat()

    text = (COMMUTE / "track.gpx").read_text()
    return re.sub(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?", later, text).encode()
