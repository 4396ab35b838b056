"""Every threshold that a document states is told in the answer, with the value used."""

import pytest

from tests.scenarios import sample_answer
from tests.test_docs import TABLES, looked_up

# Where a document says that a threshold is -> where the answer tells it. Those of a coast-down and what is assumed of
# the bike are told elsewhere: beside the coast-down, and under "bike"; those of a comparison are no ride's.
QUESTIONS = {
    "ridelog.timeline.clock.settings.ClockSettings": "clock",
    "ridelog.analysis.road.height_coverage.CoverageSettings": "height_coverage",
    "ridelog.analysis.road.height_noise.HeightSettings": "heights",
    "ridelog.analysis.road.hills.slopes.SlopeSettings": "hills",
    "ridelog.analysis.road.hills.likely_roads.RoadSettings": "likely_roads",
    "ridelog.analysis.braking.force.BrakingSettings": "braking",
    "ridelog.analysis.braking.habit.HabitSettings": "habit",
    "ridelog.analysis.braking.possible.CaptureSettings": "captured",
    "ridelog.analysis.braking.told.ToldSettings": "told",
    "ridelog.analysis.ledger.bands.LimitSettings": "return_limit",
    "ridelog.analysis.pack.cut_out.CutOutSettings": "cut_out",
    "ridelog.analysis.pack.resistance.ResistanceSettings": "resistance",
}
SINGLE = {
    "ridelog.analysis.electrical.rest.standing_mask.still_mps": "electrical.standing_mps",
    "ridelog.analysis.electrical.rest.standing_mask.shortest_s": "electrical.standing_shortest_s",
    **{
        f"ridelog.analysis.electrical.rest.idle_mask.{name}": f"electrical.idle_{name}"
        for name in ("largest_a", "drift_a", "shortest_s")
    },
    "ridelog.analysis.electrical.rest.held_at_zero.shortest_s": "electrical.held_at_zero_shortest_s",
    "ridelog.analysis.electrical.rest.held_at_zero.fewest": "electrical.held_at_zero_fewest",
    "ridelog.analysis.electrical.rest.rests_elsewhere.fewest": "electrical.halt_fewest",
    "ridelog.analysis.electrical.rest.rests_elsewhere.largest_a": "electrical.halt_largest_a",
    "ridelog.analysis.electrical.rest.rests_elsewhere.drift_a": "electrical.idle_drift_a",
    "ridelog.analysis.electrical.rest.quiet_runs.n_sigma": "electrical.quiet_n_sigma",
    "ridelog.analysis.electrical.rest.quiet_runs.chunk_s": "electrical.quiet_chunk_s",
    "ridelog.analysis.electrical.charger.charging_mask.least_a": "electrical.charger_least_a",
    "ridelog.analysis.electrical.charger.charging_mask.shortest_s": "electrical.charger_shortest_s",
    **{
        f"ridelog.analysis.electrical.bridges.BridgeSettings.{name}": f"electrical.bridge_{name}"
        for name in ("n_near", "n_alike", "apart_s")
    },
    "ridelog.analysis.electrical.flow.LONGEST_BRIDGE_S": "electrical.longest_bridge_s",
    "ridelog.analysis.electrical.zero.LARGEST_STANDBY_A": "electrical.largest_standby_a",
    "ridelog.analysis.electrical.zero.LARGEST_UNSTATED_ZERO_A": "electrical.largest_unstated_zero_a",
    "ridelog.analysis.electrical.unseen_return.SEEN_A": "electrical.return_seen_a",
    **{
        f"ridelog.analysis.electrical.either_way.{name.upper()}": f"electrical.unsigned_{name}"
        for name in ("least_flowing_share", "least_braked_s", "driven_share", "edge_s", "least_speed_mps")
    },
    "ridelog.timeline.motion.spikes.spike_mask.limit_mps2": "motion.spike_limit_mps2",
    "ridelog.timeline.motion.heights.height_leaps.least_m": "motion.height_leap_m",
    "ridelog.timeline.motion.heights.height_leaps.rate_mps": "motion.height_leap_mps",
    "ridelog.analysis.road.load_uncertainty.DEFAULT_SPEED_LIMIT_RATIO": "distance.speed_limit_ratio",
    "ridelog.analysis.road.profile.height_profile.grid_m": "heights.grid_m",
    "ridelog.analysis.road.profile.height_profile.smoothing_m": "heights.smoothing_m",
    "ridelog.analysis.road.profile.ascent_descent_m.reversal_m": "heights.ascent_reversal_m",
    "ridelog.analysis.road.places.same_hill_pairs.tolerance_m": "hills.both_ways_within_m",
    "ridelog.analysis.road.hills.agreed_slopes.SAME": "hills.same_ratio",
    "ridelog.analysis.road.hills.agreed_slopes.MOST": "hills.most_roads_ratio",
    "ridelog.analysis.road.hills.agreed_slopes.END_NEAR_M": "hills.end_near_m",
    "ridelog.analysis.road.no_road.leaping_m2.no_road_pct": "heights.no_road_pct",
    "ridelog.analysis.road.no_road.leaping_m2.steep_pct": "heights.leap_steep_pct",
    "ridelog.analysis.road.rough_heights.GRADE_LIMIT": "heights.grade_u_limit",
    "ridelog.analysis.road.rough_heights.grade_smoothing_m.longest_m": "heights.longest_grade_smoothing_m",
    "ridelog.analysis.ledger.entries.GENERATOR_EFFICIENCY": "ledger.generator_efficiency",
    "ridelog.analysis.ledger.entries.RIDER_LIMIT_RATIO": "ledger.rider_limit_ratio",
    "ridelog.analysis.ledger.entries.LEAST_RIDER_SHARE": "ledger.least_rider_share",
    "ridelog.analysis.pack.record.HARMFUL_ABOVE_FULL_V": "pack.harmful_above_full_v",
    "ridelog.analysis.pack.record.DANGEROUS_ABOVE_FULL_V": "pack.dangerous_above_full_v",
    "ridelog.analysis.worth.benefit.BATTERY_EFFICIENCY": "worth.battery_efficiency",
    "ridelog.analysis.worth.benefit.DRIVE_EFFICIENCY": "worth.drive_efficiency",
    "ridelog.analysis.worth.record.LEAST_DISTANCE_M": "worth.least_distance_m",
    "ridelog.analysis.worth.record.LEAST_OUTLOOK_M": "worth.least_outlook_m",
    "ridelog.analysis.worth.record.MOST_HEIGHT_SHARE": "worth.most_height_share",
    "ridelog.analysis.worth.record.LEAST_SHARE": "worth.least_returned_share",
    "ridelog.analysis.worth.motor.USUAL_PCT": "worth.usual_pct",
    "ridelog.analysis.worth.motor.STRIKING_PCT": "worth.striking_pct",
    "ridelog.analysis.worth.motor.CAPTURED_SHARES.stop": "worth.captured_share_stop",
    "ridelog.analysis.worth.motor.CAPTURED_SHARES.slowing": "worth.captured_share_slowing",
    "ridelog.analysis.worth.motor.CAPTURED_SHARES.holding": "worth.captured_share_holding",
}
OF_THE_BIKE = (
    "ridelog.analysis.coastdown.",
    "ridelog.analysis.electrical.sensor.DEFAULT_LIMITS.",
    "ridelog.analysis.road.load.DEFAULTS.",
    "ridelog.analysis.road.load_uncertainty.GIVEN_LIMIT",
    "ridelog.analysis.road.drag.",
    "ridelog.analysis.pack.record.USUAL_",
    "ridelog.compare.",
)
BY_SOURCE = {"DISTANCE_LIMITS_PCT": ("distance", "distance_limit_pct")}  # the answer tells that of the source it uses


def documented() -> list[tuple[str, str]]:
    """Every threshold that the documents state: where it is, and its name."""
    return [(where, name) for where, table in TABLES for name in table]


@pytest.mark.parametrize(("where", "name"), documented(), ids=str)
def test_a_threshold_that_is_documented_is_told(where, name):
    settings = sample_answer("commute").settings
    if f"{where}.{name}".startswith(OF_THE_BIKE):
        return
    held, _ = looked_up(where)
    if (key := BY_SOURCE.get(where.rpartition(".")[2])) is not None:
        assert settings[key[0]][key[1]] in held.values()
        return
    question, _, key = SINGLE.get(f"{where}.{name}", f"{QUESTIONS.get(where)}.{name}").partition(".")
    assert settings[question][key] == held[name]


def test_the_thresholds_of_a_hill_are_those_that_were_asked_for():
    settings = sample_answer("commute").settings
    assert (settings["hills"]["min_height_m"], settings["hills"]["min_grade_pct"]) == (5.0, 2.0)


def test_no_threshold_is_a_surprise_to_json():
    """Numbers, or lists of numbers."""
    for values in sample_answer("winter").settings.values():
        for value in values.values():
            assert all(isinstance(each, (int, float)) for each in (value if isinstance(value, tuple) else (value,)))
