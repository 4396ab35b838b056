"""Facts for every template of a finding, one case for each thing that its words turn on."""

from typing import Any

_CELL = {"full_cell_v": 4.2, "full_cell_given": True}
_NOT_GIVEN = {"full_cell_v": 4.2, "full_cell_given": False}
_CUT = {
    "first_s": 105.2, "last_s": 105.2, "n_times": 1, "returned_a": 5.8, "before_v": 55.51, "after_v": 54.29,
    "voltage_jumped": False, "cells_full": True, "cell_v": 4.27, "too_cold": True, "min_charge_temperature_c": 0.0,
}  # fmt: skip
_OVER = {
    "lasted_s": 82.4, "highest_v": 4.2722, "cells_logged": False, "cells_in_series": 13,
    "voltage_gain_limit_pct": 0.5, "dangerous_v": 4.5,
}  # fmt: skip
_COLD = {
    "charge_ah": 0.0884, "min_charge_temperature_c": 0.0, "min_charge_temperature_given": True, "lowest_c": -4.26,
    "within_error": False,
}  # fmt: skip
_HIGH = {"limit_a": 5.0, "lasted_s": 12.0, "highest_a": 5.81, "mean_10_s_a": 5.52, "within_error": False}
_START = {"headroom_ah": 0.8234, "needed_ah": 0.84, "capacity_ah": 14.0, "leave_at_pct": 94, "too_full": False}
_ROAD = {
    "total_mass_kg": 110.0, "total_mass_limit_kg": 30.0, "rotating_mass_kg": 1.45, "rotating_mass_limit_kg": 1.0,
    "cda_m2": 0.56, "cda_limit_m2": 0.29, "crr": 0.0077, "crr_limit": 0.0062, "air_temperature_c": 15.0,
    "air_temperature_limit_c": 20.0, "air_pressure_hpa": 954.61248, "air_pressure_limit_hpa": 30.0, "wind_mps": 0.0,
    "wind_limit_mps": 3.0,
}  # fmt: skip
_REST = {
    "file": "controller.csv", "reading_a": 0.0614, "rest_s": 125.0, "standing": True, "noise_a": 0.02134,
    "resolution_a": 0.01, "standby_draw_a": 0.06, "zero_error_a": 0.0014,
}  # fmt: skip
_ZERO = {"file": "a.csv", "reading_a": 1.523, "zero_limit_a": 0.1, "zero_limit_given": True, "standby_low_a": 0.0,
         "standby_high_a": 0.4, "standby_given": False}  # fmt: skip
_PILE = {"file": "a.csv", "current_a": 8.0, "share_pct": 12.34, "verdict": "range", "shown_by": "noise"}
_HELD = {"file": "a.csv", "lasted_s": 125.0, "n_stretches": 1}
_STEP = {"file": "a.csv", "n_events": 12, "median_samples": 2.5, "step_s": 1.99871, "median_event_s": 5.8712,
         "advised_step_s": 1.0, "available_known": True}  # fmt: skip
_COUNT = {"drawn_counter_ah": 12.34567, "drawn_samples_ah": 12.1, "drawn_ah_off_pct": 2.0322}
_LOW = {"below_mps": 10 / 3.6, "captured_pct": 12.4, "available_wh": 1.234, "best_low_mps": 10 / 3.6,
        "best_high_mps": 20 / 3.6, "best_captured_pct": 30.6}  # fmt: skip
_LIMIT = {"limit_a": 5.234, "above_mps": 5.1, "n_events": 6, "lasted_s": 70.2}
_ROUGH = {"wander_m": 2.2632, "road_m": 100.0, "over_m": 94.2, "usual_m": 28.26, "grade_error_pct": 3.27,
          "unsure": False}  # fmt: skip
_COAST = {"n_stretches": 0, "shortest_s": 8.0, "lasted_s": 0.0, "longest_s": None, "slowest_mps": None,
          "fastest_mps": None, "motor_seen": True}  # fmt: skip
_SOME_COAST = {"lasted_s": 61.2, "longest_s": 34.1, "slowest_mps": 3.2, "fastest_mps": 8.4}
_PAIR = {"file": "track.gpx", "reference": "controller.csv"}
_JOIN = {**_PAIR, "method": "speed", "offset_s": 3.4249, "wall_clocks": True, "lag_s": 1.2, "agreement": 0.9412,
         "overlap_s": 1832.0, "drift_ppm": None}  # fmt: skip
_WEAK = {"reason": "weak", "agreement": 0.312, "least_agreement": 0.6, "apart_s": None, "opposed": False}
_SPANS = {"file_start": "2026-05-04T08:00:00+00:00", "file_end": "2026-05-04T08:29:00+00:00",
          "reference_start": "2026-05-01T23:50:00", "reference_end": "2026-05-02T00:10:00"}  # fmt: skip
_DROPPED = {"file": "a.csv", "n_dropped": 1, "n_all": 40, "of": "row", "first_place": "line 32", "first_s": 29.04321}
_SAG = {"volts_per_ampere": 0.1132, "volts_per_ampere_clear": True, "volts_per_ampere_alike_pct": 96.0,
        "n_current_steps": 212}  # fmt: skip
_SIGN = {"file": "a.csv", "column": "current (A)"}
_EFFORT = {
    "effort_correlation": -0.512,
    "effort_clear": True,
    "effort_with_heights": False,
    "correlated": "current",
}
_AMOUNTS = {
    **_SIGN,
    "quantity": "battery current",
    "positive_share_pct": 92.6,
    "positive_peak": 17.93,
    "negative_peak": 5.21,
    "sure": True,
    "turned": False,
}
_IMPOSSIBLE = {"file": "a.csv", "channel": "current_a", "current_a": 900.0, "lowest_current_a": -400.0,
               "highest_current_a": 400.0, "unit": "A", "n_values": 1, "first_s": 3.0}  # fmt: skip
_SKIPPED = {"file": "a.csv", "n_skipped": 2, "n_rows": 20, "n_fields": 3, "first_line": 5, "cut_off": False}
_MISSING = {
    "file": "a.csv",
    "channel": "current_a",
    "columns": ("battery current (A)",),
    "n_missing": 4,
    "n_all": 20,
    "of": "row",
}


def _of(base: dict[str, Any], *changes: dict[str, Any]) -> tuple[dict[str, Any], ...]:
    """The facts as they are, and with each of some changes."""
    return (base, *({**base, **change} for change in changes))


CASES: dict[str, tuple[dict[str, Any], ...]] = {
    "cannot-show-return": _of(
        {"file": "a.csv", "unsigned": True, "zero_pct": None}, {"unsigned": False, "zero_pct": 42.71, "cuts_off": True}
    ),
    "flow-while-braked": _of(
        {"file": "a.csv", "flowed_wh": 5.98, "flowed_ah": None, "bounded": True},
        {"bounded": False},
        {"flowed_wh": None, "flowed_ah": 0.115},
    ),
    "nothing-returned": ({"file": "a.csv"},),
    "no-battery-current": (
        {"file": None, "column": None, "n_values": None},
        *({"file": "a.csv", "column": "battery current (A)", "n_values": n} for n in (0, 1, 2)),
    ),
    "motor-current-only": ({"file": "a.csv"},),
    "no-current": ({"file": "a.csv"},),
    "no-voltage": ({"file": "a.csv"},),
    "voltage-of-cells": _of(
        {"file": "a.csv", "n_cells": 13, "cells_in_series_given": True}, {"cells_in_series_given": False}
    ),
    "counters-alone": _of(
        {
            "file": "a.csv",
            "drawn_ah": 1.442,
            "returned_ah": 0.114,
            "drawn_wh": None,
            "returned_wh": None,
            "share_pct": 7.91,
        },
        {"drawn_ah": None, "returned_ah": None, "drawn_wh": 72.9, "returned_wh": 5.89},
        {"returned_ah": 0.0, "drawn_wh": 72.9, "returned_wh": 0.0, "share_pct": 0.0},
    ),
    "no-speed": ({"used_for": "braking"}, {"used_for": "nothing"}, {"used_for": "coasting"}),
    "no-height": ({"used_for": "braking"}, {"used_for": "coasting", "level_within_pct": 0.5}),
    "height-partial": ({"covered_pct": 61.2},),
    "height-rough": _of(_ROUGH, {"unsure": True}),
    "gaps": _of({"uncovered_pct": 4.81, "longest_bridge_s": 30.0, "missing_s": 125.0}, {"missing_s": 0.0}),
    "bike-defaults": (
        {"used_for": "braking", **_ROAD},
        {"used_for": "coasting", "total_mass_kg": 110.0, "total_mass_limit_kg": 30.0},
    ),
    "sensor-defaults": _of(
        {"current_zero_limit_a": 0.15},
        {"current_gain_limit_pct": 2.0, "charge_gain_limit_pct": 0.5, "voltage_gain_limit_pct": 1.0},
    ),
    "current-at-rest": _of(
        _REST,
        {"zero_error_a": -0.123},
        {"standby_draw_a": None, "zero_error_a": None, "standing": False},
        {"reading_a": None, "rest_s": 0.0, "resolution_a": None, "zero_error_a": None},
    ),
    "current-ends": _of(
        {"file": "a.csv", "channel": "current_a", "from_s": 0.0, "to_s": 878.0, "whole_s": 1755.2},
        {"channel": "power_w"},
    ),
    "zero-beyond-limit": _of(
        _ZERO, {"zero_limit_given": False, "zero_limit_a": 1.0}, {"standby_low_a": 0.4, "standby_given": True}
    ),
    "current-saturated": _of(
        _PILE,
        {"shown_by": "voltage"},
        {"current_a": -3.9, "verdict": "limit", "shown_by": "voltage"},
        {"verdict": "open", "shown_by": "nothing"},
    ),
    "channel-stuck": (
        {**_HELD, "channel": "current_a", "current_a": 8.0},
        {**_HELD, "channel": "voltage_v", "voltage_v": 48.123, "n_stretches": 3},
        {**_HELD, "channel": "speed_mps", "speed_mps": 0.0},
    ),
    "values-held": _of(
        {"file": "a.csv", "channel": "current_a", "stands_s": 1.0, "row_s": 0.2},
        {"channel": "voltage_v", "stands_s": 12.4},
        {"channel": "power_w"},
    ),
    "voltage-without-sag": ({"file": "a.csv"},),
    "step-too-long": (
        _STEP,
        {"file": "a.csv", "n_events": 2, "step_s": 10.0, "available_known": False, "advised_step_s": 1.0},
    ),
    "counters-agree": _of(
        {"file": "a.csv", **_COUNT, "n_breaks": 0},
        {"n_breaks": 1, "drawn_ah_off_pct": None},
        {"net_counter_wh": 523.12, "net_samples_wh": 522.9, "net_wh_off_pct": 0.0421, "n_breaks": 2},
    ),
    "counters-disagree": _of({"file": "a.csv", **_COUNT, "n_breaks": 0, "counts_net": False}, {"counts_net": True}),
    "charging-while-standing": _of({**_HELD, "charge_ah": 0.3234}, {"n_stretches": 2}),
    "charge-without-braking": ({**_HELD, "charge_ah": 0.0334},),
    "return-without-regen": (
        {"returned_wh": 3.2123, "motor_kind": "mid-drive"},
        {"returned_ah": 0.0612, "motor_kind": "geared-freewheel"},
    ),
    "recovered-unusually-high": _of(
        {"recovered_pct": 35.04, "usual_pct": 5.0, "lower_m": None, "beyond_drawn": False, "sign_by_map": False},
        {"lower_m": 83.2},
        {"recovered_pct": 1190.0, "beyond_drawn": True, "sign_by_map": True},
        {"recovered_pct": 191.0, "beyond_drawn": True, "lower_m": 312.0},
    ),
    "charge-path": _of(
        {"charge_path": "unknown", "stated": False, "highest_charge_a": 5.8231},
        {"stated": True},
        {"charge_path": "blocked", "stated": True},
    ),
    "charge-cut-out": _of(
        {**_CUT, **_CELL},
        {**_NOT_GIVEN, "too_cold": False},
        {"cell_v": None, "before_v": None, "after_v": None, "too_cold": False, "cells_full": False},
        {"n_times": 3, "last_s": 3725.0, "voltage_jumped": True},
    ),
    "regen-weakened": _of(
        {"first_s": 750.3, "lasted_s": 6.2, "before_a": 5.04, "after_a": 2.12, "cell_v": 4.183, **_CELL}, _NOT_GIVEN
    ),
    "cell-overcharged": tuple(
        {**_OVER, **given, "verdict": verdict}
        for verdict in ("within-error", "above", "harmful", "dangerous")
        for given in (_CELL, {**_NOT_GIVEN, "cells_logged": True})
    ),
    "charged-cold": _of(_COLD, {"min_charge_temperature_given": False, "within_error": True}),
    "charge-current-high": _of(_HIGH, {"mean_10_s_a": None}, {"within_error": True}),
    "start-charge": _of(_START, {"capacity_ah": None, "leave_at_pct": None}, {"too_full": True}),
    "height-still": _of({"n_events": 1, "excess_wh": 2.314, "height_m": 0.0}, {"n_events": 4, "height_m": 112.4}),
    "captured-beyond-available": _of({"n_events": 1, "excess_wh": 0.3271}, {"n_events": 3}),
    "regen-fades": _of(_LOW, {"available_wh": None}, {"best_high_mps": None}),
    "regen-limited": _of(_LIMIT, {"above_mps": None, "n_events": 1}),
    "sign-reversed": (
        {**_SIGN, **_SAG},
        {**_SIGN, **_SAG, "state_of_charge_fall_pct": 8.213, "net_charge_as": -312.0},
        {**_SIGN, "state_of_charge_fall_pct": -8.2, "net_charge_as": 312.0},
        {**_SIGN, "drawn_counter_rise_ah": 0.0983, "drawn_counter_fits_as_read": True},
        {**_SIGN, "returned_counter_rise_ah": 0.0983, "returned_counter_fits_as_read": False},
        {**_SIGN, "net_counter_rise_ah": 0.0983, "net_counter_fits_as_read": False},
        {**_SIGN, "power_sign_same": False},
        {**_SIGN, "volts_per_watt": 0.0023},
        {**_SIGN, **_EFFORT},
        {**_SIGN, **_EFFORT, "effort_with_heights": True},
    ),
    "sign-assumed": _of(_AMOUNTS, {"turned": True, "positive_share_pct": 7.4}, {"sure": False}),
    "sign-open": _of({**_AMOUNTS, "contradicting": False}, {"contradicting": True}),
    "sign-doubtful": (
        {**_SIGN, **_SAG, "volts_per_ampere": -0.11, "power_sign_same": True, "by_map": False},
        {**_SIGN, **_SAG, "volts_per_ampere_clear": False, "by_map": True},
        {**_SIGN, **_EFFORT, "effort_correlation": 0.112, "effort_clear": False, "by_map": False},
        {**_SIGN, **_EFFORT, "effort_clear": False, "effort_with_heights": True, "by_map": False},
    ),
    "unit-unknown": _of({"file": "a.csv", "column": "current", "units": ("A", "mA")}, {"stated": "furlong"}),
    "unused-field": _of({"file": "ride.fit", "field": "dynamo", "unknown_words": ("dynamo",)}, {"unknown_words": ()}),
    "rows-skipped": _of(_SKIPPED, {"n_skipped": 1, "first_line": 22, "cut_off": True}, {"first_line": None}),
    "rows-counted": _of({"file": "a.csv", "step_s": 1.0, "n_rows": 3600}, {"step_s": 0.25}),
    "header-repeated": ({"file": "a.csv", "n_repeats": 1}, {"file": "a.csv", "n_repeats": 3}),
    "values-missing": _of(_MISSING, {"columns": ("in", "out")}, {"columns": (), "of": "sample"}),
    "unreadable-values": (
        {"file": "a.gpx", "channel": "position", "n_values": 1},
        {"file": "a.gpx", "channel": "altitude_m", "n_values": 4},
    ),
    "no-fix": _of({"file": "a.csv", "n_positions": 1, "n_all": 4400}, {"n_positions": 320}),
    "infinite-values": _of(
        {"file": "a.csv", "column": "I (A)", "n_values": 4, "n_all": 20}, {"n_values": 1}, {"n_values": 20}
    ),
    "unreadable-cells": _of(
        {
            "file": "a.csv",
            "column": "motor temperature (°C)",
            "cell": "ERR",
            "line": 812,
            "n_cells": 1,
            "n_all": 4400,
            "left_out": False,
        },
        {"n_cells": 30},
        {"n_cells": 300, "left_out": True},
    ),
    "impossible-values": (
        *_of(_IMPOSSIBLE, {"n_values": 3}),
        {"file": "odo.csv", "n_resets": 1, "first_step_m": -2498.0, "first_s": 500.0},
        {"file": "odo.csv", "n_resets": 2, "first_step_m": 1200.4, "first_s": 500.0},
        {**_IMPOSSIBLE, "current_a": None},
    ),
    "channel-left-out": _of({**_IMPOSSIBLE, "n_values": 40, "n_all": 200}, {"current_a": None}),
    "no-bicycle": (
        {"file": "a.csv", "channel": "voltage_v", "voltage_v": 393.4, "highest_voltage_v": 200.0, "unit": "V"},
    ),
    "rows-without-time": _of({"file": "a.csv", "n_lost": 1, "n_all": 50, "of": "row"}, {"n_lost": 2}),
    "untimed-samples": ({"file": "a.gpx", "n_points": 1},),
    "unreadable-times": ({"file": "a.gpx", "n_points": 3},),
    "rows-repeated": ({"file": "a.csv", "n_repeated": 1}, {"file": "a.csv", "n_repeated": 9}),
    "time-repeated": (_DROPPED,),
    "time-spread": ({"file": "a.csv", "step_s": 1.0, "samples_per_stamp": 4.9871},),
    "clock-backward": ({**_DROPPED, "n_dropped": 3, "first_place": "sample 32", "of": "sample"},),
    "clock-leap": ({"file": "a.csv", "leap_s": 172501.0, "place": "line 301"},),
    "clock-wrapped": ({"file": "a.csv", "n_wraps": 1}, {"file": "a.csv", "n_wraps": 2}),
    "far-off-times": (_DROPPED,),
    "impossible-date": ({"file": "a.gpx", "date": "2094-05-01"},),
    "mixed-zones": ({"file": "a.gpx", "n_points": 1},),
    "damaged-tail": (
        {"file": "a.gpx", "damage": "line", "at": 10},
        {"file": "a.fit", "damage": "ends-inside-message", "at": 768},
        {"file": "a.fit", "damage": "bad-message", "at": 768},
        {"file": "a.fit", "damage": "not-this-format", "at": None},
        {"file": "a.fit", "damage": "never-finished", "at": None},
    ),
    "check-sum": ({"file": "a.fit"},),
    "overlapping-tracks": ({"file": "a.gpx", "n_dropped": 3, "n_all": 13},),
    "member-not-recognised": ({"files": ("ride.zip/photo.jpg",)}, {"files": ("readme.txt", "photo.jpg")}),
    "clock-joined": (
        *_of(
            _JOIN,
            {"offset_s": -7203.42, "method": "power", "drift_ppm": 12.3},
            {"offset_s": None},
            {"wall_clocks": False, "lag_s": -59.999},
        ),
        {**_PAIR, "method": "wall clock", **_WEAK},
        {**_PAIR, "method": "wall clock", **_WEAK, "reason": "nothing-in-common", "agreement": None},
    ),
    "clocks-disagree": ({**_PAIR, "apart_s": 7200.01},),
    "clocks-not-joined": _of(
        {**_PAIR, **_WEAK},
        {"reason": "short"},
        {"reason": "ambiguous", "opposed": True},
        {"reason": "contradicted", "apart_s": 95.4},
        {"reason": "unlike", "agreement": 0.84, "least_agreement": 0.92},
        {"reason": "nothing-in-common", "agreement": None},
        {"reason": "too-long", "agreement": None},
    ),
    "no-overlap": ({**_PAIR, **_SPANS},),
    "no-wall-time": ({},),
    "time-zone-unknown": ({"file": "a.csv"},),
    "same-file-twice": ({"file": "copy of a.csv", "same_as": "a.csv"}, {"file": "a.csv", "same_as": "a.csv"}),
    "several-current-logs": _of(
        {"file": "a.csv", "others": ("b.csv",), "chosen_for": "voltage"},
        {"others": ("b.csv", "c.csv"), "chosen_for": "finer-step"},
    ),
    "log-continued": ({"files": ("a.csv", "b.csv")},),
    "motion-sources": (
        {"speed_file": "a.csv", "speed_source": "wheel", "distance_file": "t.gpx", "distance_source": "positions"},
        {"speed_file": "a.csv", "speed_source": "device"},
        {"distance_file": "t.gpx", "distance_source": "speed"},
    ),
    "speed-spike": _of({"file": "a.fit", "n_samples": 1, "highest_mps": 26.1, "at_s": 500.0}, {"n_samples": 4}),
    "hill-cut": (
        {"hill": "Hill 1, down", "goes_on_before": True, "goes_on_after": False},
        {"hill": "Hill 1, down", "goes_on_before": False, "goes_on_after": True},
        {"hill": "Hill 2, up", "goes_on_before": True, "goes_on_after": True},
    ),
    "height-leaps": _of({"file": "t.gpx", "n_leaps": 1, "largest_step_m": 8000.2, "at_s": 300.0}, {"n_leaps": 2}),
    "positions-held": _of(
        {"file": "a.csv", "n_positions": 1842, "n_new": 593, "usual_s": 3.0, "longest_s": 4.1},
        {"n_positions": 1, "n_new": 1, "longest_s": 26.0},
    ),
    "way-bridged": _of(
        {"file": "t.gpx", "n_gaps": 1, "lasted_s": 100.0, "straight_m": 612.4, "other_m": None, "held": False},
        {"n_gaps": 2, "other_m": 1332.0, "held": True},
    ),
    "stray-positions": (
        {"file": "t.gpx", "n_positions": 1, "first_s": 72.0},
        {"file": "t.gpx", "n_positions": 3, "first_s": 72.0},
        {"file": "t.gpx", "n_jumps": 1, "first_jump_m": 1234.0, "first_s": 72.0},
        {"file": "t.gpx", "n_jumps": 2, "first_jump_m": 1234.0, "first_s": 72.0},
    ),
    "speeds-disagree": (
        {"file": "a.csv", "other_file": "t.gpx", "off_pct": 9.51, "unit_slip": "none"},
        {"file": "a.csv", "other_file": "t.gpx", "off_pct": 261.2, "unit_slip": "km/h and m/s"},
    ),
    "distances-disagree": (
        {"file": "a.csv", "other_file": "t.gpx", "off_pct": 30.2},
        {"file": "a.csv", "other_file": "t.gpx", "off_pct": -6.4},
    ),
    "wheel-circumference-found": ({"file": "t.gpx", "wheel_circumference_m": 2.2051},),
    "wheel-circumference-unknown": ({"file": "a.csv"},),
    "coasting-short": _of(
        _COAST, {"motor_seen": False}, {"n_stretches": 1, **_SOME_COAST}, {"n_stretches": 2, **_SOME_COAST}
    ),
    "coasting-left-out": ({"n_left_out": 1}, {"n_left_out": 3}),
    "coastdown-vague": (
        {"cda_m2": 0.56, "cda_limit_m2": 0.29},
        {"cda_m2": 0.56, "cda_limit_m2": 0.29, "crr": 0.0077, "crr_limit": 0.0062},
    ),
    "coastdown-one-way": ({"positions_logged": True}, {"positions_logged": False}),
    "motor-drag-inside": ({},),
    "motor-unseen": ({},),
    "pedalling-unseen": ({},),
    "one-ride-in-group": (
        {"group": "off", "quantities": ["recovered_pct"]},
        {"group": "off", "quantities": ["recovered_pct", "captured_pct", "net_wh_per_km"]},
    ),
    "quantity-unknown-in-group": ({"group": "off", "quantities": ["captured_pct"]},),
    "rides-without-partner": (
        {"first": "off", "second": "strong", "n_rides": 1},
        {"first": "off", "second": "strong", "n_rides": 3},
    ),
    "routes-differ": ({"first": "off", "second": "strong"},),
    "bikes-by-folder": ({"bikes": ["eco", "winter tyres"]},),
    "errors-not-shared": (
        {
            "first": "a",
            "second": "b",
            "quantity": "recovered_pct",
            "shared_u": 0.31,
            "causes": ["current zero"],
            "same_loggers_and_bikes": False,
        },
        {
            "first": "a",
            "second": "b",
            "quantity": "net_wh_per_km",
            "shared_u": 0.1,
            "causes": ["a", "b"],
            "same_loggers_and_bikes": True,
        },
    ),
    "shared-errors-unknown": ({"n_rides": 1, "rides": ["a.csv"]}, {"n_rides": 3, "rides": list("abc")}),
    "ride-model-failed": ({"first": "off", "second": "strong"},),
    "conditions-differ": (
        {"conditions": ["moving_speed_mps", "air_temperature_c"], "corrected": ["moving_speed_mps"]},
        {"conditions": ["stopped_pct"], "corrected": []},
    ),
    "rides-not-corrected": ({"n_rides": 1, "rides": ["a.csv"]}, {"n_rides": 3, "rides": list("abc")}),
    "rides-with-dangers": (
        {"n_rides": 1, "rides": ["a.csv"], "codes": ["charged-cold"]},
        {"n_rides": 7, "rides": list("abcdefg"), "codes": ["charged-cold", "cell-overcharged"]},
    ),
}
