"""Rides, logs and tracks of any size, one dimension at a time, for `tests.fuzz.growth`."""

import math
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

import numpy as np

from sample_rides.fit_writer import fit_crc, write_fit
from tests.fuzz.case import Case
from tests.fuzz.tracks import START

LAP, RECORD = 19, 20  # global numbers of messages
HEADS = "time [s],battery current [A],battery voltage [V],speed [km/h],altitude [m],distance [m]"


def ride(
    n: int, *, step_s: float = 1.0, stop_s: float | None = 60.0, hill_m: float = 1000.0, first: int = 0
) -> list[str]:
    """Rows of a log: a ride that stops every ``stop_s``, or never, and goes up and down 20 m every ``hill_m``."""
    time_s = np.arange(n) * step_s
    speed = np.clip(8 * np.sin(np.pi * time_s / stop_s) ** 2 * 1.3 - 0.6, 0, 8) if stop_s else np.full(n, 6.0)
    way_m = np.cumsum(speed) * step_s
    height_m = 100 + 10 * np.sin(2 * np.pi * way_m / hill_m)
    current = 4 + 8 * np.gradient(speed) / step_s + 40 * 0.06 * np.cos(2 * np.pi * way_m / hill_m)
    voltage = 48 - 0.1 * current
    table = np.column_stack([time_s, current, voltage, 3.6 * speed, height_m, way_m])
    return ["{:.1f},{:.2f},{:.2f},{:.2f},{:.1f},{:.1f}".format(*row) for row in table.tolist()]


def log(rows: list[str], heads: str = HEADS, above: tuple[str, ...] = ()) -> bytes:
    """The bytes of a log."""
    return "\n".join([*above, heads, *rows, ""]).encode()


def gpx(n: int) -> bytes:
    """A track of ``n`` points, one a second, over hills."""
    way_m = 5.0 * np.arange(n)
    points = "\n".join(
        f'<trkpt lat="{46.5 + way / 111_195:.7f}" lon="-32"><ele>{100 + 10 * math.sin(way / 160):.1f}</ele>'
        f"<time>{np.datetime64('2026-05-04T08:00:00') + np.timedelta64(at, 's')}Z</time></trkpt>"
        for at, way in enumerate(way_m.tolist())
    )
    return (
        '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f"{points}</trkseg></trk></gpx>"
    ).encode()


def fit(*, n_laps: int = 0, n_definitions: int = 0) -> bytes:
    """A track of 100 s with so many laps, or so many definitions more."""
    target = BytesIO()
    records = [
        {"time_s": float(at), "latitude_deg": 46.5 + at / 20_000, "longitude_deg": -32.0, "altitude_m": 100.0}
        for at in range(100)
    ]
    write_fit(target, START, records)
    body = target.getvalue()[14:-2]
    define = bytes([0x43, 0, 0, LAP, 0, 2, 253, 4, 0x86, 2, 4, 0x86])
    laps = b"".join(bytes([3]) + (1_100_000_000 + k).to_bytes(4, "little") * 2 for k in range(n_laps))
    again = bytes([0x44, 0, 0, RECORD, 0, 1, 253, 4, 0x86]) * n_definitions
    body += define + laps + again
    content = bytes([14, 0x20]) + (2132).to_bytes(2, "little") + len(body).to_bytes(4, "little") + b".FIT"
    content += fit_crc(content).to_bytes(2, "little") + body
    return content + fit_crc(content).to_bytes(2, "little")


def of_one(content: bytes, name: str = "a.csv", *, bike: bytes | None = None, columns: bytes | None = None) -> Case:
    return Case(0, "growth", ((name, content),), bike, columns, measured=True)


def rows(times: int) -> Case:
    return of_one(log(ride(600 * times, step_s=0.1, stop_s=60.0)))


def events(times: int) -> Case:
    return of_one(log(ride(240 * times, stop_s=30.0, hill_m=1e9)))


def hills(times: int) -> Case:
    return of_one(log(ride(240 * times, stop_s=None, hill_m=700.0)))


def points(times: int) -> Case:
    return of_one(gpx(200 * times), "a.gpx")


def laps(times: int) -> Case:
    return of_one(fit(n_laps=100 * times), "a.fit")


def definitions(times: int) -> Case:
    return of_one(fit(n_definitions=300 * times), "a.fit")


def parts(n: int) -> list[bytes]:
    """One ride in so many logs of two minutes."""
    lines = ride(120 * n)
    return [log(lines[start : start + 120]) for start in range(0, len(lines), 120)]


def files(times: int) -> Case:
    """One ride in so many files, one after the other."""
    names = ((f"{k}.csv", part) for k, part in enumerate(parts(2 * times)))
    return Case(0, "growth", tuple(names), measured=True)


def columns(times: int) -> Case:
    """Cell voltages, which are the columns that a log may have many of."""
    n = 4 * times
    heads = HEADS + "".join(f",cell {k + 1} voltage [V]" for k in range(n))
    return of_one(log([row + ",3.7" * n for row in ride(120)], heads))


def strange_columns(times: int) -> Case:
    """Columns that say nothing."""
    n = 4 * times
    return of_one(log([row + ",5" * n for row in ride(120)], HEADS + "".join(f",odd {k}" for k in range(n))))


def gaps(times: int) -> Case:
    """Gaps of ten seconds in a log of one sample a second."""
    kept = [row for k, row in enumerate(ride(60 * 4 * times, stop_s=50.0)) if k % 60 < 50]
    return of_one(log(kept))


def map_columns(times: int) -> Case:
    """A column map of many columns, of a log that has them."""
    n = 4 * times
    heads = HEADS + "".join(f",x{k}" for k in range(n))
    known = "".join(f'[[column]]\nheader = "x{k}"\nquantity = "cell voltage {k + 1}"\nunit = "V"\n' for k in range(n))
    return of_one(log([row + ",3.7" * n for row in ride(120)], heads), columns=known.encode())


def header_lines(times: int) -> Case:
    return of_one(log(ride(120), above=tuple(f"# line {k}" for k in range(20 * times))))


def bike_keys(times: int) -> Case:
    """Keys of a bike file; none of them is known, which is told of one."""
    bike = "[pack]\n" + "".join(f"x{k} = 1\n" for k in range(60 * times))
    return of_one(log(ride(120)), bike=bike.encode())


def zip_members(times: int) -> Case:
    target = BytesIO()
    with ZipFile(target, "w", ZIP_DEFLATED) as archive:
        for k, part in enumerate(parts(2 * times)):
            archive.writestr(f"{k}.csv", part)
    return of_one(target.getvalue(), "a.zip")


def lone_cells(times: int) -> Case:
    """Cells that are no numbers, each of which is a line to be told of."""
    lines = ride(300 * times)
    return of_one(log([row.replace(",", ",x", 1) if k % 61 == 3 else row for k, row in enumerate(lines)]))


def requests(times: int) -> Case:
    """Asked of the page one after the other; see `taken`."""
    return Case(times * 10, "requests")
