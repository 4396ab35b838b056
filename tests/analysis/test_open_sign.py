"""Where nothing shows the sign of the current, no number says that it is known."""

import json

import numpy as np
import pandas as pd

import ridelog
from ridelog.analysis.open_sign import sign_open, without_shares
from ridelog.findings import Finding
from tests.places import SAMPLES

FACTS = {"file": "log.csv", "column": "I", "quantity": "battery current", "positive_share_pct": 52.0, "sure": False}
PEAKS = {"positive_peak": 9.4, "negative_peak": 5.7}
OPEN = Finding("sign-open", "warning", {**FACTS, **PEAKS, "contradicting": False})


def shares(data, path=""):
    """Every percentage of an answer that is a share of what was drawn, returned or available, with its place."""
    if isinstance(data, dict):
        for name, value in data.items():
            if name in ("recovered_pct", "captured_pct", "share_of_returned_pct", "descents_share_of_returned_pct"):
                yield f"{path}.{name}", value
            else:
                yield from shares(value, f"{path}.{name}")
    elif isinstance(data, list):
        for k, value in enumerate(data):
            yield from shares(value, f"{path}[{k}]")


def test_of_an_answer_with_hills_and_events_no_share_is_left(make_answer):
    """Nor what needs one: use per kilometre, distance gained, the ledger and whether it is worth it."""
    answer = without_shares(make_answer(findings=(OPEN,)))
    found = dict(shares(answer.to_dict()))
    assert len(found) > 10
    assert set(found.values()) == {None}
    assert (answer.energy.net_wh_per_km, answer.energy.distance_gained_m) == (None, None)
    assert (answer.ledger, answer.worth, answer.budget, answer.speed_bands) == (None, None, (), ())
    assert answer.energy.drawn_wh == make_answer().energy.drawn_wh


def test_a_log_of_amperes_down_a_hill_shows_no_share_anywhere(tmp_path):
    """The first five minutes of the winter ride: more came back than was drawn, and the strongest current was drawn."""
    log = pd.read_csv(SAMPLES / "winter" / "battery.csv").iloc[:1500, [0, 2]]
    log.to_csv(tmp_path / "log.csv", index=False)
    answer = ridelog.measure(ridelog.load_ride([tmp_path / "log.csv"]))
    assert sign_open(answer.findings)
    assert set(dict(shares(answer.to_dict())).values()) == {None}
    assert "recovered-unusually-high" not in {finding.code for finding in answer.findings}
    assert answer.pack.highest_charge_a is None
    assert np.isfinite(answer.charge.returned_ah.value)
    assert ridelog.Answer.from_dict(json.loads(json.dumps(answer.to_dict()))) == answer


def test_an_answer_whose_sign_is_known_keeps_its_shares(make_answer):
    assert not sign_open(make_answer().findings)
