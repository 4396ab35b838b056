"""What the current reads while the bike stands, and whether limit and standby draw explain it."""

import numpy as np

from ridelog.analysis.electrical.charger import stop_levels_a
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.electrical.sensor import DEFAULT_LIMITS
from ridelog.analysis.electrical.zero import LARGEST_STANDBY_A
from ridelog.analysis.quality.channels import Samples
from ridelog.arrays import Mask
from ridelog.findings import Fact, Finding
from ridelog.settings.bike import SensorSection


def rest_findings(called: str, rest: Rest, standing: Mask, sensor: SensorSection) -> list[Finding]:
    """What the current reads at rest, its noise and its smallest step, and what that means for the answer.

    Parameters
    ----------
    called : name of the file
    rest : the current at rest
    standing : the bike stands, shape (n,)
    sensor : what the bike file says of it

    Returns
    -------
    One finding, also where the bike never rests.
    """
    standby_a = sensor.standby_draw_a
    facts: dict[str, Fact] = {
        "file": called,
        "reading_a": rest.mean_a,
        "rest_s": rest.duration_s,
        "standing": rest.standing and bool(standing.any()),
        "noise_a": rest.noise_a,
        "resolution_a": rest.resolution_a or None,
        "standby_draw_a": standby_a,
        "zero_error_a": rest.mean_a - standby_a if rest.mean_a is not None and standby_a is not None else None,
    }
    return [Finding("current-at-rest", "note", facts)]


def zero_findings(
    called: str, log: Samples, rest: Rest, sensor: SensorSection, *, largest_standby_a: float = LARGEST_STANDBY_A
) -> list[Finding]:
    """The reading at rest lies farther from the standby draw than the limit of the zero allows.

    Where the bike never rests, only what no standby draw explains: at least two stops that all read more than 1 A the
    same way.

    Parameters
    ----------
    called : name of the file
    log : its samples
    rest : the current at rest
    sensor : what the bike file says of it
    largest_standby_a : no bike draws more while it stands [A]

    Returns
    -------
    One finding at most.
    """
    limit_a = sensor.current_zero_limit_a
    if rest.mean_a is not None:
        reading_a, margin_a = rest.mean_a, 4 * rest.noise_a / np.sqrt(max(rest.n, 1)) + rest.resolution_a / 2
    else:
        levels = stop_levels_a(log.time_s, log.current_a, log.standing)
        if len(levels) < 2 or float(np.ptp(levels)) > 0.3:
            return []
        reading_a, margin_a = float(np.median(levels)), 0.3
    if limit_a is None:
        limit_a = DEFAULT_LIMITS["current_zero_limit_a"] if rest.mean_a is not None else 1.0
    low_a = sensor.standby_draw_a or 0.0
    high_a = low_a if sensor.standby_draw_a is not None else largest_standby_a
    if low_a - limit_a - margin_a <= reading_a <= high_a + limit_a + margin_a:
        return []
    facts: dict[str, Fact] = {
        "file": called,
        "reading_a": reading_a,
        "zero_limit_a": limit_a,
        "zero_limit_given": sensor.current_zero_limit_a is not None,
        "standby_given": sensor.standby_draw_a is not None,
        "standby_low_a": low_a,
        "standby_high_a": high_a,
    }
    stated = sensor.current_zero_limit_a is not None or sensor.standby_draw_a is not None
    unexplained = stated or not 0 <= reading_a <= 1.0  # a larger load that nobody entered may well be one
    return [Finding("zero-beyond-limit", "warning" if unexplained else "note", facts)]
