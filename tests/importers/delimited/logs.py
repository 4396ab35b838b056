"""Delimited logs for tests: a log made row by row, and one known table in a drawn form."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from hypothesis import strategies as st

from ridelog.importers.delimited import read as delimited
from ridelog.recording import Recording
from ridelog.settings.column_map import ColumnMap

N_ROWS = 60
PHASE = np.arange(N_ROWS) * 0.7
WAVE_A = np.round(5 + 6 * np.sin(PHASE), 2)
WAVE_V = np.round(50 - 0.11 * WAVE_A, 3)


def read(text: str | bytes, columns: ColumnMap | None = None, name: str = "b.csv") -> Recording:
    """The recording of a log."""
    content = text if isinstance(text, bytes) else text.encode()
    return delimited.read_log(content, name, "0" * 64, columns).required()


def log(header: str, row: Callable[[int], str], n: int = N_ROWS) -> str:
    """A log of ``n`` rows, each made by ``row(k)``."""
    return header + "\n" + "".join(f"{row(k)}\n" for k in range(n))


def codes_of(recording: Recording) -> list[str]:
    """The codes of its findings."""
    return [finding.code for finding in recording.findings]


def why(recording: Recording, header: str) -> str:
    """The reasoning on one of its columns."""
    return next(reading.why for reading in recording.columns if reading.header == header)


FORMS: Mapping[str, Mapping[str, Callable[[float], str]]] = {
    "time": {  # seconds -> text, by header
        "time (s)": lambda t: f"{t:.1f}",
        "Zeit [ms]": lambda t: f"{1000 * t:.0f}",
        "temps_us": lambda t: f"{1e6 * t:.0f}",
        "ride time (h:mm:ss)": lambda t: f"{t // 3600:.0f}:{t % 3600 // 60:02.0f}:{t % 60:04.1f}",
        "timestamp": lambda t: f"2026-05-01T08:00:{t:04.1f}Z",
        "epoch ms": lambda t: f"{1777622400000 + 1000 * t:.0f}",
    },
    "current_a": {
        "battery current (A)": lambda x: f"{x:.2f}",
        "I_batt/mA": lambda x: f"{1000 * x:.0f}",
        "Akkustrom in A": lambda x: f"{x:.2f}",
        "charge current (A)": lambda x: f"{-x:.2f}",
    },
    "voltage_v": {"U [V]": lambda x: f"{x:.3f}", "tension_mv": lambda x: f"{1000 * x:.0f}"},
    "speed_mps": {"speed (km/h)": lambda x: f"{3.6 * x:.3f}", "snelheid (m/s)": lambda x: f"{x:.3f}"},
}
TRUTH = {
    "time": np.arange(N_ROWS) * 0.5,
    "current_a": WAVE_A,
    "voltage_v": WAVE_V,
    "speed_mps": np.round(6 + np.sin(PHASE / 3), 2),
}
UNITS_ROW = {"time (s)": ("time", "s"), "battery current (A)": ("battery current", "A"), "U [V]": ("U", "V")}


@st.composite
def written(draw: Callable[[st.SearchStrategy[Any]], Any]) -> bytes:
    """The known table as bytes, in a drawn form."""
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    decimal = draw(st.sampled_from([".", ","])) if delimiter != "," else "."
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"]))
    order = draw(st.permutations(list(FORMS)))
    heads = {name: draw(st.sampled_from(sorted(FORMS[name]))) for name in order}
    units_row = draw(st.booleans()) and all(heads[name] in UNITS_ROW for name in order if name != "speed_mps")
    lines = draw(st.sampled_from([[], ["# ride of a day"], ["log of a device", ""]]))
    if units_row:
        units = {
            name: UNITS_ROW.get(heads[name], ("speed", "km/h" if "km/h" in heads[name] else "m/s")) for name in order
        }
        lines = [
            *lines,
            delimiter.join(units[name][0] for name in order),
            delimiter.join(units[name][1] for name in order),
        ]
    else:
        lines = [*lines, delimiter.join(heads[name] for name in order)]
    for k in range(N_ROWS):
        cells = [FORMS[name][heads[name]](TRUTH[name][k]) for name in order]
        lines.append(delimiter.join(cell.replace(".", decimal) for cell in cells))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    text: str = end.join(lines) + draw(st.sampled_from(["", end]))
    return text.encode(encoding)
