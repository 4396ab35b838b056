"""The sample commute as a stranger's logger writes it: other words, decimal commas, mA, another sign, an hour off."""

import csv

from tests.places import SAMPLES

TRACK = ("spur.gpx", (SAMPLES / "commute" / "track.gpx").read_bytes())


def strangers_log(*, timed: bool) -> bytes:
    """The controller's log of the sample commute.

    Parameters
    ----------
    timed : with wall times, an hour ahead of the track's clock; else with a column that counts the rows

    Returns
    -------
    The file.
    """
    with (SAMPLES / "commute" / "controller.csv").open(encoding="utf-8", newline="") as stream:
        rows = [row for row in csv.reader(stream) if row and not row[0].startswith("#")][1:]
    lines = ["Uhrzeit;Q-Strom;Spg Batt;Tempo [km/h]" if timed else "Lfd;Q-Strom;Spg Batt;v"]
    for number, (when, current, voltage, speed) in enumerate(rows):
        date, _, time = when.removesuffix("Z").partition("T")
        year, month, day = date.split("-")
        wall = f"{day}.{month}.{year} {int(time[:2]) + 1:02d}{time[2:]}"
        values = (str(round(-1000 * float(current))), voltage, speed)
        lines.append(";".join([wall if timed else str(number), *(each.replace(".", ",") for each in values)]))
    return ("\n".join(lines) + "\n").encode("cp1252")
