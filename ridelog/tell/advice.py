"""What a rider can do about a source of uncertainty, in words."""

from collections.abc import Mapping

ADVICE: Mapping[str, str] = {
    "": "",
    "stand-switched-on": "let the bike stand switched on for 30 s or more at the start",
    "enter-standby-draw": "enter standby_draw_a and let the bike stand for 30 s at the start, or have the sensor's "
    "zero calibrated",
    "compare-both-directions": "compare the sensor with a meter in both directions, and enter charge_gain_limit_pct",
    "log-faster": "log faster, or let the logger average (averaged = true)",
    "let-it-average": "the log is fast enough; let the logger average (averaged = true)",
    "find-missing-samples": "find out why samples are missing: a loose plug, a slow card, a weak radio",
}
