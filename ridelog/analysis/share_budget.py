"""Where the uncertainty of the recovered share comes from, and what the rider can do about the largest part."""

from collections.abc import Mapping

import numpy as np

from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.sensor import CHARGE_GAIN, ERRORS, MISSING, SAMPLING, ZERO
from ridelog.uncertain.budget import Advice, Budget, budget_from_trials

ROUNDING_PCT = 1e-9  # an error that moves no trial by more does not act [%]


def recovered_budget(flow: ElectricalFlow, *, step_s: float) -> Budget | None:
    """The budget of the recovered share, by energy where it is known, else by charge.

    Parameters
    ----------
    flow : of the ride
    step_s : usual step of the log, for the advice [s]

    Returns
    -------
    budget : ``None`` where there is no share
    """
    model = flow.energy if flow.energy is not None else flow.charge
    if model is None or not flow.shows_return:
        return None
    start_s, end_s = float(flow.time_s[0]), float(flow.time_s[-1])
    share = model.window(start_s, end_s).recovered_pct
    answer = share.quantity()
    if answer is None:
        return None
    alone = {
        name: model.window(start_s, end_s, acting=(name,)).recovered_pct for name in ERRORS if name in share.sources
    }
    parts = {name: part.trials for name, part in alone.items() if float(np.ptp(part.trials)) > ROUNDING_PCT}
    return budget_from_trials("recovered", "%", answer, parts, together=share.trials, advice=_advice(flow, step_s))


def _advice(flow: ElectricalFlow, step_s: float) -> Mapping[str, Advice]:
    """What would shrink each source."""
    known = flow.zero is not None and flow.zero.known
    return {
        ZERO: "stand-switched-on" if known else "enter-standby-draw",
        CHARGE_GAIN: "compare-both-directions",
        SAMPLING: "log-faster" if step_s > 0.15 else "let-it-average",
        MISSING: "find-missing-samples",
    }
