"""A made-up answer to draw: a road of two hills ridden out and back, its numbers set by hand."""

import gc
from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, settings

from ridelog.answer.braking import Braking, BrakingEvent, BrakingKind
from ridelog.answer.hills import Hill, HillPair
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, Energy, RideSummary, Source
from ridelog.findings import Fact, Finding
from ridelog.uncertain.quantity import Quantity
from tests.tell.clean import faults_of

GAP = {"uncovered_pct": 4.8, "longest_bridge_s": 30.0, "missing_s": 60.0}
ASSUMED: dict[str, Fact] = {"used_for": "braking", "total_mass_kg": 110.0, "total_mass_limit_kg": 30.0}
START = datetime(2026, 5, 4, 6, 40, tzinfo=UTC)

# How fast examples come and go by the clock says how busy a machine is, and nothing of what is tried.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


def pytest_collection_finish() -> None:
    """Thousands of collected tests are no garbage: a library that collects at each call would look through all."""
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True, scope="session")
def every_finding_forms_a_clean_sentence() -> Iterator[None]:
    """Each finding that any test makes, with whatever facts, forms clean text in every style and survives JSON."""
    made = Finding.__post_init__

    def made_and_said(finding: Finding) -> None:
        made(finding)
        assert faults_of(finding) == [], finding

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Finding, "__post_init__", made_and_said)
        yield


def made_series(n: int, step_s: float) -> pd.DataFrame:
    """A ride of ``n`` samples at 7 m/s over two hills, out and back, with a gap of 60 s in its middle."""
    elapsed_s = np.arange(n) * step_s
    elapsed_s[n // 2 :] += 60.0
    distance_m = 7.0 * np.arange(n) * step_s
    length_m = distance_m[-1]
    out_m = np.minimum(distance_m, length_m - distance_m)  # out and back: the same road twice
    along = out_m / (length_m / 2)
    altitude_m = 20 + 45 * np.sin(np.pi * np.clip(along / 0.6, 0, 1)) ** 2 + 30 * np.clip((along - 0.6) / 0.4, 0, 1)
    grade = np.gradient(altitude_m, distance_m)
    power_w = 150 + 9000 * grade + 25 * np.sin(np.arange(n))
    power_w = np.where(power_w < 0, np.maximum(0.4 * power_w, -300), np.minimum(power_w, 700))
    return pd.DataFrame(
        {
            "elapsed_s": elapsed_s,
            "current_a": power_w / 48,
            "voltage_v": 48.0,
            "power_w": power_w,
            "speed_mps": 7.0,
            "distance_m": distance_m,
            "altitude_m": altitude_m,
            "smooth_altitude_m": altitude_m,
            "grade_pct": 100 * grade,
            "braking_force_n": np.where(power_w < 0, 30.0, 0.0),
            "regen_mask": power_w < 0,
            "braking_mask": power_w < 0,
            "east_m": out_m * np.cos(along),
            "north_m": out_m * np.sin(along) + np.where(distance_m > length_m / 2, 12.0, 0.0),
        },
        index=pd.DatetimeIndex(pd.to_datetime(START) + pd.to_timedelta(elapsed_s, unit="s"), name="time"),
    )


def made_hill(number: int, direction: str, start_m: float, end_m: float, **numbers: float) -> Hill:
    """A hill at 7 m/s with the numbers given."""
    known = {name: Quantity(value) for name, value in numbers.items()}
    height_m = 45.0 if direction == "up" else -45.0
    return Hill(
        id=f"{number}-{direction}",
        name=f"Hill {number}, {direction}",
        direction=direction,  # type: ignore[arg-type]
        start_s=start_m / 7,
        end_s=end_m / 7,
        start_m=start_m,
        end_m=end_m,
        length_m=end_m - start_m,
        height_m=Quantity(height_m),
        mean_grade_pct=Quantity(100 * height_m / (end_m - start_m)),
        drawn_wh=known.get("drawn_wh"),
        returned_wh=known.get("returned_wh"),
        recovered_pct=known.get("recovered_pct"),
        available_wh=known.get("available_wh"),
        captured_pct=known.get("captured_pct"),
        number=number,
        share_of_returned_pct=known.get("share_of_returned_pct"),
    )


@pytest.fixture(scope="session")
def make_answer() -> Callable[..., Answer]:
    """A function that makes the answer; keywords replace its parts."""

    def make(n: int = 6000, step_s: float = 0.2, **parts: object) -> Answer:
        events = tuple(
            BrakingEvent(
                start_s=310.0 + 55 * k,
                end_s=318.0 + 56 * k,
                kind="holding" if k % 2 else "stop",
                start_speed_mps=7.0,
                end_speed_mps=7.0 if k % 2 else 0.0,
                drop_m=Quantity(3.0 * k),
                returned_ah=Quantity(0.011 + 0.002 * k),
                returned_wh=Quantity(0.5 + 0.1 * k),
                available_wh=Quantity(2.4 - 0.1 * k) if k != 3 else None,
                captured_pct=Quantity(100 * (0.5 + 0.1 * k) / (2.4 - 0.1 * k)) if k != 3 else None,
            )
            for k in range(8)
        )
        kinds = (
            BrakingKind("stop", 4, Quantity(8.4), Quantity(3.2), Quantity(38.1), Quantity(5.2)),
            BrakingKind("slowing", 0, Quantity(0.0), Quantity(0.0), None, Quantity(0.0)),
            BrakingKind("holding", 4, Quantity(5.7), Quantity(3.6), Quantity(63.2), Quantity(2.1)),
        )
        fields: dict[str, object] = {
            "ride": RideSummary(
                "ridge-road", START, n * step_s + 60, n * step_s, Quantity(8400.0), Quantity(150.0), Quantity(150.0)
            ),
            "sources": (
                Source(
                    "controller.csv", "a" * 64, "csv", "electrical", START, None, n, step_s, 95.2,
                    Quantity(0.0), Quantity(0.0),
                ),
                Source("track.gpx", "b" * 64, "gpx", "track", START, None, 1200, 1.0, 100.0, Quantity(-3.2), None),
            ),
            "charge": Charge(Quantity(4.42), Quantity(0.294), Quantity(6.65)),
            "energy": Energy(
                Quantity(212.0), Quantity(14.1), Quantity(6.65, 6.1, 7.3), Quantity(23.5), Quantity(598.0),
                Quantity(82.3),
            ),
            "braking": Braking(Quantity(33.0), Quantity(14.1), Quantity(42.7), events, kinds),
            "hills": (
                made_hill(1, "up", 250, 1230, drawn_wh=48.0, returned_wh=0.0, share_of_returned_pct=0.0),
                made_hill(2, "down", 1310, 2300, drawn_wh=0.4, returned_wh=4.1, available_wh=10.2, captured_pct=40.2,
                          share_of_returned_pct=29.1),
                made_hill(3, "up", 2600, 4150, drawn_wh=39.0, returned_wh=0.0, share_of_returned_pct=0.0),
                made_hill(3, "down", 4250, 5800, drawn_wh=0.2, returned_wh=2.9, available_wh=7.7, captured_pct=37.7,
                          share_of_returned_pct=20.6),
                made_hill(2, "up", 6100, 7090, drawn_wh=47.0, returned_wh=0.0, share_of_returned_pct=0.0),
                made_hill(1, "down", 7170, 8150, drawn_wh=0.3, returned_wh=4.6, available_wh=10.6, captured_pct=43.4,
                          share_of_returned_pct=32.6),
            ),
            "hill_pairs": (
                HillPair("1-up", "1-down", Quantity(9.6)),
                HillPair("2-up", "2-down", Quantity(8.7)),
                HillPair("3-up", "3-down", Quantity(7.4)),
            ),
            "pack": Pack(),
            "findings": (
                Finding("gaps", "warning", GAP, 600.0, 660.0),
                Finding("sensor-defaults", "note", {"current_zero_limit_a": 0.15}),
                Finding("bike-defaults", "note", ASSUMED),
            ),
            "series": made_series(n, step_s),
        }  # fmt: skip
        return Answer(**{**fields, **parts})  # type: ignore[arg-type]

    return make
