"""Heads of columns and stamps of time by chance, as many ways as devices write them."""

from datetime import UTC, datetime, timedelta, timezone
from random import Random

NOUNS = (
    "battery", "batt", "pack", "motor", "phase", "current", "voltage", "power", "speed", "distance", "trip",
    "odometer", "altitude", "elevation", "latitude", "longitude", "lat", "lon", "gps", "temp", "temperature",
    "controller", "cell", "soc", "charge", "energy", "throttle", "brake", "cadence", "rider", "wheel", "rpm",
    "revolutions", "time", "date", "elapsed", "Strom", "Spannung", "Geschwindigkeit", "Zeit", "Höhe", "tension",
    "courant", "vitesse", "max", "min", "avg", "raw", "1", "2", "13", "total", "used", "regen", "in", "out", "net",
    "bus", "dc", "id", "iq", "flag", "x", "٣", "²", "i", "u", "v",
)  # fmt: skip
UNITS = (
    "A", "mA", "V", "mV", "W", "kW", "Wh", "kWh", "Ah", "mAh", "km/h", "kmh", "mph", "m/s", "m", "km", "mi", "ft",
    "s", "ms", "us", "µs", "h", "min", "°C", "°F", "C", "%", "rpm", "1/min", "deg", "°", "N", "Nm", "quux", "",
    "A*h", "10 mV", "0.1 A", "hPa",
)  # fmt: skip
STAMPS = (
    "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M:%SZ", "%Y-%m-%dT%H:%M:%S%z", "%d.%m.%Y %H:%M:%S",
    "%d/%m/%Y %H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%Y/%m/%d %H:%M", "%H:%M:%S", "%H:%M:%S.%f", "%Y%m%d%H%M%S",
    "%Y%m%dT%H%M%SZ", "%d %b %Y %H:%M:%S", "%Y-%m-%dT%H:%M:%S.%fZ", "%y-%m-%d %H:%M:%S", "%d-%m-%y %H:%M",
    "%Y-%m-%dT%H:%M:%S,%f", "%j %H:%M:%S", "%s", "%Y-W%V-%u",
)  # fmt: skip
STARTS = (
    datetime(2026, 5, 4, 8, tzinfo=UTC),
    datetime(2026, 3, 29, 0, 59, 50, tzinfo=UTC),  # summer time begins
    datetime(2026, 10, 25, 0, 59, 50, tzinfo=UTC),  # and ends
    datetime(2024, 2, 28, 23, 59, 55, tzinfo=UTC),
    datetime(2026, 12, 31, 23, 59, 55, tzinfo=UTC),
    datetime(1970, 1, 1, tzinfo=UTC),
    datetime(1969, 12, 31, 23, 59, 55, tzinfo=UTC),
    datetime(2038, 1, 19, 3, 14, 5, tzinfo=UTC),
    datetime(9999, 12, 31, 20, 0, 0, tzinfo=UTC),
    datetime(1, 1, 1, tzinfo=UTC),
)


def header(rng: Random) -> str:
    """Some words of a column, run together in one of many ways, with a unit or without."""
    words = [rng.choice(NOUNS) for _ in range(rng.choice((1, 1, 2, 2, 3, 4)))]
    style = rng.randrange(5)
    if style == 0:
        name = "_".join(words)
    elif style == 1:
        name = "".join(word[:1].upper() + word[1:] for word in words)
    elif style == 2:
        name = " ".join(words).upper()
    else:
        name = " ".join(words)
    unit = rng.choice(UNITS)
    form = rng.choice(
        (
            "{} [{}]",
            "{} [{}]",
            "{} ({})",
            "{}_{}",
            "{} / {}",
            "{} {}",
            "{}, {}",
            "{}",
            "{}",
            "{}:{}",
            "{} in {}",
            "[{1}] {0}",
        )
    )
    return form.format(name, unit)


def stamps(rng: Random, n: int) -> list[str]:
    """Times of rows, in one form."""
    style, step_s = rng.choice(STAMPS), rng.choice((1, 1, 1, 0.2, 2, 60, 3600, 0, -1))
    start, zone = rng.choice(STARTS), timezone(timedelta(minutes=rng.choice((0, 60, 120, -300, 345, 840, -840))))
    found = []
    for row in range(n):
        try:
            moment = (start + timedelta(seconds=row * step_s)).astimezone(zone)
            found.append(str(moment.timestamp()) if style == "%s" else moment.strftime(style))
        except (OverflowError, ValueError):
            found.append("9999-12-31T23:59:59")
    return found
