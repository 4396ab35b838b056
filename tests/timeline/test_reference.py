"""Which recording a ride stands on."""

from dataclasses import replace
from datetime import timedelta

from ridelog.timeline.reference import without_repetitions
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import codes, facts
from tests.timeline.simulated import Truth, controller_log, recording


def test_of_several_current_logs_the_one_with_voltage_is_counted(truth: Truth) -> None:
    bare = controller_log(truth)
    bare = replace(bare, name="bms.csv", sha256="bms", frame=bare.frame.drop(columns="voltage_v"))
    whole = controller_log(truth, step_s=1.0)
    ride = join_recordings([bare, whole])
    assert ride.electrical is whole
    told = facts(ride, "several-current-logs")
    assert told == {"file": "controller.csv", "others": ("bms.csv",), "chosen_for": "voltage"}


def test_of_equal_current_logs_the_finer_one_is_counted(truth: Truth) -> None:
    coarse = replace(controller_log(truth, step_s=1.0), name="bms.csv", sha256="bms")
    ride = join_recordings([coarse, controller_log(truth)])
    assert ride.electrical is not None
    assert ride.electrical.name == "controller.csv"
    assert facts(ride, "several-current-logs")["chosen_for"] == "finer-step"


def test_battery_current_comes_before_motor_current(truth: Truth) -> None:
    log = controller_log(truth)
    motor = recording("motor.csv", log.time_s, motor_current_a=log.frame["current_a"].to_numpy() * 3)
    assert join_recordings([motor, log]).reference is log
    assert "several-current-logs" not in codes(join_recordings([motor, log]))


def test_the_same_file_given_twice_is_taken_once(truth: Truth) -> None:
    log = controller_log(truth)
    ride = join_recordings([log, replace(log, name="copy of controller.csv")])
    assert len(ride.recordings) == 1
    assert facts(ride, "same-file-twice") == {"file": "copy of controller.csv", "same_as": "controller.csv"}


def test_members_of_one_archive_with_equal_samples_at_other_times_are_two_recordings(truth: Truth) -> None:
    log = controller_log(truth)
    assert log.start is not None
    later = replace(log, name="part 2.csv", start=log.start + timedelta(seconds=log.duration_s + 1))
    assert without_repetitions([log, later]) == ([log, later], [])
    elapsed = replace(log, start=None, clock="elapsed")
    second = replace(elapsed, name="part 2.csv", clock_s=log.duration_s + 1)
    assert without_repetitions([elapsed, second]) == ([elapsed, second], [])
    (kept,), (finding,) = without_repetitions([log, replace(log, name="copy.csv")])
    assert (kept, finding.code) == (log, "same-file-twice")
