"""A pack's voltage where only its cells' are logged: cells in series add up (Kirchhoff's voltage law)."""

import re
from dataclasses import replace

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.recording import Recording
from ridelog.settings.bike import Bike

FEWEST_CELLS = 6  # in a pack of a nominal 20 V or more; fewer without a word in the bike file are some of its cells
_CELL = re.compile(r"cell_(\d{2,3})_v")


def with_voltage_of_cells(recording: Recording, bike: Bike) -> Recording:
    """The recording with the sum of its cells as battery voltage, and a note, where it logs current and no voltage.

    All cells: as many as the bike file says, else numbers without a gap from 1 (or 0) up to at least `FEWEST_CELLS`. A
    sum lacks what wires and protection drop between cells and terminals, some thousandths of the voltage.

    Parameters
    ----------
    recording : any
    bike : its ``cells_in_series``, where it is entered, decides

    Returns
    -------
    recording : itself where nothing is added; a row of which one cell is missing has no voltage [V]
    """
    frame = recording.frame
    if "current_a" not in frame or {"voltage_v", "power_w"} & {*map(str, frame)}:
        return recording
    cells = {int(match[1]): name for name in map(str, frame) if (match := _CELL.fullmatch(name))}
    if not cells or sorted(cells) != [*range(min(cells), min(cells) + len(cells))] or min(cells) > 1:
        return recording
    stated = bike.pack.cells_in_series
    if len(cells) != stated if stated is not None else len(cells) < FEWEST_CELLS:
        return recording
    volts = np.sum([frame[name].to_numpy(dtype=float) for name in cells.values()], axis=0)
    facts: dict[str, Fact] = {
        "file": recording.called,
        "n_cells": len(cells),
        "cells_in_series_given": stated is not None,
    }
    note = Finding("voltage-of-cells", "note", facts)
    return replace(recording, frame=frame.assign(voltage_v=volts), findings=(*recording.findings, note))
