"""What the trapezoid between samples may lose, against waveforms whose integrals are known in closed form."""

import numpy as np
import pytest

from ridelog.analysis.electrical.between_samples import between_samples


def spread_and_errors(value, integral, stamps):
    """Root of the mean variance that is told, and rms of what the trapezoid really loses, over many sets of stamps."""
    told, lost = [], []
    for at_s in stamps:
        values = value(at_s)
        said = between_samples((values, np.zeros(len(at_s))), np.zeros(len(at_s)), np.diff(at_s))
        told.append(said[0].sum())
        lost.append(np.trapezoid(values, at_s) - np.diff(integral(at_s[[0, -1]]))[0])
    return float(np.sqrt(np.mean(told))), float(np.sqrt(np.mean(np.square(lost))))


def jumps(period_s):
    """10 A for part of each period of about this length, else 0, no two alike; and its running integral."""
    rng = np.random.default_rng(5)
    lengths = period_s * rng.uniform(0.7, 1.3, 500)
    bounds = np.concatenate(([0.0], np.cumsum(lengths)[:-1]))
    ends = bounds + lengths * rng.uniform(0.3, 0.7, 500)
    areas = np.concatenate(([0.0], np.cumsum(10 * (ends - bounds))))

    def value(at_s):
        which = np.searchsorted(bounds, at_s, side="right") - 1
        return np.where(at_s < ends[which], 10.0, 0.0)

    def integral(at_s):
        which = np.searchsorted(bounds, at_s, side="right") - 1
        return areas[which] + 10 * (np.minimum(at_s, ends[which]) - bounds[which])

    return value, integral


def even(step_s, until_s):
    return [np.arange(phase, until_s, step_s) for phase in step_s * (np.arange(60) + 0.5) / 60]


def uneven(until_s):
    """Stamps as loggers write them whenever a value comes in: steps of 0.1 to 1.1 s."""
    rng = np.random.default_rng(6)
    for _ in range(60):
        at_s = np.cumsum(rng.choice([0.1, 0.2, 0.4, 0.9, 1.1], 6000))
        yield at_s[at_s < until_s]


@pytest.mark.parametrize("stamps", [even(1.0, 7900.0), list(uneven(7900.0))], ids=["even", "uneven"])
def test_the_spread_of_a_log_of_jumps_is_what_it_really_loses(stamps):
    """At even stamps and at uneven ones alike, to the fifth that 60 draws tell it to."""
    told, lost = spread_and_errors(*jumps(20.0), stamps)
    assert told == pytest.approx(lost, rel=0.2)


def test_the_spread_of_a_log_whose_samples_have_nothing_to_do_with_each_other_is_what_it_really_loses():
    """Steps of 5 s over a waveform that jumps every second or two: four times the variance of single jumps."""
    told, lost = spread_and_errors(*jumps(2.3), even(5.0, 900.0))
    assert told == pytest.approx(lost, rel=0.4)


def test_a_straight_line_read_at_uneven_stamps_bends_nowhere():
    """A ramp loses nothing, however uneven its steps."""
    at_s = next(uneven(3000.0))
    said = between_samples((at_s / 100, np.zeros(len(at_s))), np.zeros(len(at_s)), np.diff(at_s))
    assert said.sum() < 1e-12 * at_s[-1] ** 2


def test_nothing_is_told_next_to_a_step_that_does_not_count():
    """A jump beside a gap says nothing of the step there."""
    step_h = np.array([1.0, 1.0, 0.0, 1.0, 1.0])
    said = between_samples((np.array([0.0, 0.0, 0.0, 9.0, 9.0, 9.0]), np.zeros(6)), np.zeros(6), step_h)
    assert not said.any()


def test_a_step_that_spans_missing_samples_leaves_what_its_usual_steps_would():
    """Without the samples from 40 to 60 s of a log at 1 Hz the 21 steps across leave as much unsure as 21 others do."""
    value, _ = jumps(20.0)
    whole_s = np.arange(0.0, 900.0)
    kept_s = whole_s[(whole_s < 40) | (whole_s > 60)]
    said = []
    for at_s in (whole_s, kept_s):
        parts = (value(at_s), np.zeros(len(at_s)))
        bridged = np.diff(at_s) > 1.5
        said.append(between_samples(parts, np.zeros(len(at_s)), np.diff(at_s), bridged)[0])
    across = said[1][np.flatnonzero(np.diff(kept_s) > 1.5)[0] + 1]
    assert across > 0
    assert said[1].sum() == pytest.approx(said[0].sum(), rel=0.1)


def test_a_log_of_kinks_is_told_no_surer_than_one_that_ripples_within_its_steps():
    """Triangles read at each second lose a twentieth of what jumps do; told is what a growth of 2 would be, 0.224."""
    rng = np.random.default_rng(8)
    corners_s = np.concatenate(([0.0], np.cumsum(rng.uniform(6.0, 14.0, 800))))
    heights = rng.uniform(1.0, 20.0, len(corners_s))
    areas = np.concatenate(([0.0], np.cumsum((heights[1:] + heights[:-1]) / 2 * np.diff(corners_s))))

    def value(at_s):
        return np.interp(at_s, corners_s, heights)

    def integral(at_s):
        which = np.searchsorted(corners_s, at_s, side="right") - 1
        return areas[which] + (heights[which] + value(at_s)) / 2 * (at_s - corners_s[which])

    told, lost = spread_and_errors(value, integral, even(1.0, 7000.0))
    assert lost < told
    assert told == pytest.approx(np.sqrt(0.224 / 0.05) * lost, rel=0.25)
