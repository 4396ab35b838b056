"""One error at a time: which of them an interval that misses has wrong. ``python -m tests.proof.isolate [RIDES]``.

Every line is one kind of error alone, on the same rides: coverage, and the error in units of the stated standard
uncertainty (mean near 0 and spread near 1 where the interval is right; a spread above 1: too narrow; below: too wide).
"""

import sys
from dataclasses import replace

import numpy as np

from tests.proof.bench import Case, TrueRide, random_log
from tests.proof.study import Plan, Result, Row, electrical_rows, run_study
from tests.proof.table import named

FAULTLESS = Case(0.2, False, 1e-6, 1e-6, 1e-6, 1e-6, True, 0.0, 0.0, 0.0)


def alone() -> dict[str, Case]:
    """Loggers with one error each, by name."""
    cases = {}
    for averaged in (False, True):
        for step_s in (0.1, 0.2, 0.5, 1.0):
            cases[f"{'means' if averaged else 'instants'} at {step_s} s"] = replace(
                FAULTLESS, averaged=averaged, step_s=step_s
            )
    for noise_a in (0.05, 0.2):
        cases[f"noise {noise_a} A"] = replace(FAULTLESS, noise_a=noise_a)
    cases["noise 0.2 A, means at 1 s"] = replace(FAULTLESS, noise_a=0.2, averaged=True, step_s=1.0)
    for resolution_a in (0.01, 0.05, 0.1):
        cases[f"resolution {resolution_a} A"] = replace(FAULTLESS, resolution_a=resolution_a)
    cases["resolution 0.05 A, means"] = replace(FAULTLESS, resolution_a=0.05, averaged=True)
    cases["resolution 0.1 A, noise 0.05 A"] = replace(FAULTLESS, resolution_a=0.1, noise_a=0.05)
    for averaged in (False, True):
        word = "means" if averaged else "instants"
        cases[f"5 % lost, {word}"] = replace(FAULTLESS, lost_ratio=0.05, averaged=averaged)
        cases[f"5 % lost, {word} at 1 s"] = replace(FAULTLESS, lost_ratio=0.05, averaged=averaged, step_s=1.0)
    for known in (True, False):
        cases[f"zero ± 0.1 A, standby {'known' if known else 'unknown'}"] = replace(
            FAULTLESS, zero_limit_a=0.1, standby_known=known
        )
    cases["gain ± 2 %"] = replace(FAULTLESS, gain_limit_pct=2.0)
    cases["charge gain ± 0.5 %"] = replace(FAULTLESS, charge_gain_limit_pct=0.5)
    return cases


def isolated(seed: int, _: Plan) -> Result:
    """One ride with each error alone."""
    ride = TrueRide(seed)
    result = Result()
    for index, (name, case) in enumerate(alone().items()):
        log = random_log(ride, case, np.random.default_rng([seed, 5, index]))
        result.rows += electrical_rows(ride, case, log, {}, prefix=f"{name}: ")
    return result


def line(rows: list[Row]) -> str:
    """Coverage, mean and spread of the standardised error, and median width."""
    known = [(row, row.value) for row in rows if row.low is not None and row.high is not None and row.value is not None]
    z = np.array([(value - row.truth) / max(row.width / 3.92, 1e-12) for row, value in known])
    width = float(np.median([row.width for row, _ in known]))
    return f"{100 * np.mean([row.covered for row in rows]):6.1f} {z.mean():+6.2f} {z.std():5.2f} {width:9.4g}"


def main(n_rides: int) -> None:
    """Writes one line an error."""
    result = run_study(range(n_rides), Plan(), task=isolated)
    head = "covered %, mean and spread of error, width"
    sys.stdout.write(f"{'':34s} returned_ah: {head} | recovered_ah_pct: the same\n")
    for name in alone():
        parts = [line(named(result.rows, f"{name}: {what}")) for what in ("returned_ah", "recovered_ah_pct")]
        sys.stdout.write(f"{name:34s} {parts[0]} | {parts[1]}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
