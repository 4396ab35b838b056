"""Delimited logs by chance: written in many dialects, then damaged in cells, rows, columns and quotes."""

from dataclasses import dataclass, field

import numpy as np

HEADERS = (
    "battery current [A]",
    "battery voltage [V]",
    "battery power [W]",
    "speed [km/h]",
    "wheel speed [mph]",
    "distance [m]",
    "distance [km]",
    "altitude [m]",
    "latitude [deg]",
    "longitude [deg]",
    "state of charge [%]",
    "motor current [A]",
    "battery temperature [°C]",
    "brake",
    "throttle [%]",
    "cadence [rpm]",
    "cell 1 voltage [V]",
    "cell 2 voltage [mV]",
    "charge used [Ah]",
    "charged [Ah]",
    "wheel revolutions",
    "Strom [A]",
    "Spannung",
    "current",
    "speed",
    "trip",
    "note",
    "rider power [W]",
    "energy used [Wh]",
    "odd [quux]",
    "",
    "battery current [mA]",
    "charge current [A]",
    "discharge current [A]",
)
TIMES = ("time [s]", "time [ms]", "timestamp", "time", "date", "elapsed [h:mm:ss]", "t [us]", "Zeit (s)")
CELLS = (
    "",
    " ",
    "nan",
    "NaN",
    "inf",
    "-inf",
    "-0",
    "-0.00",
    "0",
    "1e308",
    "-1e308",
    "1e-320",
    "9" * 400,
    "0x1f",
    "1_000",
    "1,5",
    "1.5",
    "1.234,5",
    "--",
    "n/a",
    "٣",
    "½",
    "''",
    '"',
    '"x',
    'x"',
    "true",
    "2026-05-01T08:00:00Z",
    "25:61:61",
    "1970-01-01",
    "9999-12-31T23:59:59Z",
    "4294967295",
    "65535",
    "-32768",
    "12 V",
    "3 A",
    "\x1b[31m",
    "\u202e",
    "\x00",
    "=1+1",
    "+5",
    "−5",
    "5-",
)
WORDS = (
    "cell ፩ voltage [V]",
    "\x1b]0;x\x07",
    "[" * 40,
    "(",
    "a\tb",
    "²",
    "x" * 3000,
    "Σ",
    "\ufeff",
    "current [A] [V]",
    '"',
    "#",
)


@dataclass
class Table:
    """A log as rows of cells, and how it is written."""

    headers: list[str]
    rows: list[list[str]]
    delimiter: str = ","
    line_end: str = "\n"
    encoding: str = "utf-8"
    above: list[str] = field(default_factory=list)

    def content(self) -> bytes:
        """The bytes of the file."""
        lines = [*self.above, *(self.delimiter.join(row) for row in (self.headers, *self.rows))]
        return (self.line_end.join(lines) + self.line_end).encode(self.encoding, "replace")


def _times(rng: np.random.Generator, header: str, n: int, step_s: float) -> list[str]:
    seconds = np.arange(n) * step_s
    if header == "time [ms]":
        return [f"{1000 * each:.0f}" for each in seconds]
    if header == "t [us]":
        return [f"{1e6 * each:.0f}" for each in seconds]
    if header.startswith("elapsed"):
        return [f"{int(each // 3600)}:{int(each // 60 % 60):02d}:{each % 60:04.1f}" for each in seconds]
    if header in ("timestamp", "date", "time") and rng.random() < 0.7:
        start = np.datetime64("2026-05-04T08:00:00", "ms")
        stamps = start + (1000 * seconds).astype("timedelta64[ms]")
        style = rng.integers(3)
        if style == 2:
            return [f"{1777881600 + each:.1f}" for each in seconds]
        return [str(each) + ("Z" if style else "") for each in stamps]
    return [f"{each:.2f}" for each in seconds]


def _values(rng: np.random.Generator, header: str, n: int) -> list[str]:
    slow = np.sin(np.arange(n) / rng.uniform(3, 60) + rng.uniform(0, 6))
    centre, width = next(
        (known for word, known in _RANGES if word in header.lower()),
        (float(rng.normal(0, 30)), float(rng.uniform(0, 30))),
    )
    values = centre + width * slow + rng.normal(0, width / 20 + 1e-9, n)
    if any(word in header.lower() for word in ("distance", "used", "revolutions", "trip", "charged")):
        values = np.cumsum(np.abs(values))
    decimals = int(rng.integers(0, 5))
    return [f"{each:.{decimals}f}" for each in values]


_RANGES = (
    ("latitude", (46.5, 0.01)),
    ("longitude", (-32.0, 0.01)),
    ("[mv]", (3700.0, 100.0)),
    ("cell", (3.7, 0.1)),
    ("voltage", (48.0, 2.0)),
    ("spannung", (48.0, 2.0)),
    ("[ma]", (4000.0, 6000.0)),
    ("current", (4.0, 6.0)),
    ("strom", (4.0, 6.0)),
    ("speed", (18.0, 12.0)),
    ("altitude", (60.0, 40.0)),
    ("charge [%]", (60.0, 5.0)),
    ("temperature", (15.0, 5.0)),
    ("power", (150.0, 300.0)),
    ("brake", (0.5, 0.6)),
)


def random_table(rng: np.random.Generator, n: int | None = None) -> Table:
    """A log that may well be read: one clock, some columns, ``n`` rows or 2 to some hundred."""
    n = n or int(rng.choice([2, 3, 5, 20, 60, 150, 400], p=[0.05, 0.05, 0.1, 0.2, 0.3, 0.2, 0.1]))
    time = str(rng.choice(TIMES))
    headers = [time, *rng.choice(HEADERS, size=int(rng.integers(1, 8)), replace=False)]
    if rng.random() < 0.6 and "battery current [A]" not in headers:
        headers.insert(1, "battery current [A]")
    step_s = float(rng.choice([0.1, 0.2, 1.0, 1.0, 2.0, 10.0, 60.0]))
    columns = [_times(rng, time, n, step_s), *(_values(rng, header, n) for header in headers[1:])]
    delimiter = str(rng.choice([",", ";", "\t", "|"]))
    rows = [list(row) for row in zip(*columns, strict=True)]
    if delimiter != "," and rng.random() < 0.4:
        rows = [[cell.replace(".", ",") for cell in row] for row in rows]
    table = Table([str(header) for header in headers], rows, delimiter)
    table.line_end = str(rng.choice(["\n", "\n", "\r\n", "\r"]))
    table.encoding = str(rng.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16", "latin-1", "utf-16-le"]))
    if rng.random() < 0.2:
        table.above = [str(each) for each in rng.choice(["# note", "", "device; x", "a,b,c", "1,2", "%"], size=3)]
    return table


def damaged(rng: np.random.Generator, table: Table) -> Table:  # noqa: C901 - one branch for each kind of damage
    """The log with one thing wrong in it."""
    rows, headers = table.rows, table.headers
    if not rows or not headers:
        return table
    at, column = int(rng.integers(len(rows))), int(rng.integers(len(headers)))
    end = min(len(rows), at + int(rng.integers(1, 40)))
    what = int(rng.integers(16))
    if what < 3 and column < len(rows[at]):
        rows[at][column] = str(rng.choice(CELLS))
    elif what == 3:
        word = str(rng.choice(CELLS))
        for row in rows[at:end]:
            row[column : column + 1] = [word]
    elif what == 4:
        rows[at:at] = [list(row) for row in rows[at:end]]
    elif what == 5:
        del rows[at:end]
    elif what == 6:
        rows[at:end] = rows[at:end][::-1]
    elif what == 7:
        headers[column] = str(rng.choice(WORDS))
    elif what == 8:
        headers.append(headers[column])
        for row in rows:
            row.append(row[min(column, len(row) - 1)] if row else "")
    elif what == 9:
        rows[at] = rows[at][: int(rng.integers(len(rows[at]) + 1))]
    elif what == 10:
        rows[at] = [*rows[at], *[""] * int(rng.integers(1, 5))]
    elif what == 11:
        rows[at:at] = [[str(rng.choice(["# x", "", "END", '"', ",,,,", " "]))]] * int(rng.integers(1, 4))
    elif what == 12:
        _leap(rng, rows[at:])
    elif what == 13:
        for row in rows:
            row[column : column + 1] = [rows[at][column] if column < len(rows[at]) else ""]
    elif what == 14:
        rows[at] = [f'"{cell}"' for cell in rows[at]] or [""]
        rows[at][0] = str(rng.choice(['"', '""', '"a\nb"', "'", rows[at][0]]))
    else:
        rows.insert(0, [str(rng.choice(["A", "V", "s", "[km/h]", "-", ""])) for _ in headers])
    return table


def _leap(rng: np.random.Generator, rows: list[list[str]]) -> None:
    """Clocks that jump from one row on."""
    by = float(rng.choice([-1e9, -86400, -10, 30, 3600, 82_800, 86400 * 8, 3.15e7, 1e12, 1e300]))
    for row in rows:
        try:
            row[0] = f"{float(row[0]) + by:.3f}"
        except (ValueError, IndexError):
            return


def log_by_chance(rng: np.random.Generator) -> bytes:
    """The bytes of a log, sound or damaged."""
    table = random_table(rng)
    for _ in range(int(rng.choice([0, 1, 1, 2, 4]))):
        table = damaged(rng, table)
    return table.content()
