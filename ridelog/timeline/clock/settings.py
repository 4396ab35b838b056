"""Thresholds of the clock join, each with its reason."""

from ridelog.lazy import dataclass


@dataclass(frozen=True)
class ClockSettings:
    """Thresholds of the clock join.

    Attributes
    ----------
    least_overlap_s, least_overlap_ratio : a shift is looked at where both know at least this time, and this
        share of the shorter recording: short overlaps agree by chance [s], [1]
    least_agreement : weaker correlations are not believed [1]
    least_score : standard deviations by which the agreement must exceed chance, given how many independent
        stretches the overlap holds; some hundred shifts are tried, so that three would not do [1]
    rival_ratio : a second peak as high as this share of the first makes the answer ambiguous [1]
    near_s, near_zone_s : how far a clock set by people or a network may be off, and the same where only
        the time zone is unknown [s]
    wall_s : signals that agree well near the wall clocks' shift must do so within this of it, or else the wall clocks
        are not trusted alone; such a join lies anywhere within (rectangular) [s]
    disagree_s : wall clocks that are farther than this from the lag that was found are reported [s]
    contradicted_agreement : what it takes to believe the correlation against two wall clocks [1]
    slow_s, slow_agreement : means over this time of two speeds of one ride agree by more than this, however rough the
        fixes are (0.95 and more with a scatter of 3 m each second, in simulated rides); those of two rides on one road,
        with other waits at its stops, by 0.88 at best on 21 roads of 22, and by 0.98 on one of few stops. A join by
        speed that no wall clock supports takes this [s], [1]
    opposed_agreement, decisive_spread_mps : a correlation of power below this speaks against the wall clocks, and so
        does one of speeds below ``least_agreement`` where both speeds vary by more than their noise, by this standard
        deviation of their 10 s means [1], [m/s]
    drift_overlap_s, window_s, n_windows : drift is looked for in windows of this length where the overlap is at
        least this long and at least this many windows agree [s], [s], [1]
    largest_drift_ppm : a quartz clock is within 100, a computer's within some thousand [1e-6]
    drift_u_limit_ppm : a drift that is known less well (standard uncertainty), and is not three times its own
        uncertainty either, may be none at all, and is not used [1e-6]
    unseen_drift_ppm : where no drift was found there may still be this much either way (rectangular): a usual quartz
        clock keeps within it [1e-6]
    n_fits, settle_s : most steps of the least-squares fit, and how far it may go from where the signals fit as a whole
        before it is not believed [1], [s]
    slope_s, block_s : time over which the slope of a speed is taken, as long as a rider takes to change it, and over
        which errors of speeds have forgotten themselves [s], [s]
    slow_mps : below this, errors of positions make a speed from them too large [m/s]
    unusual_drift_ppm, unusual_ratio : a clock that does not keep within ``unseen_drift_ppm`` may run off by this
        (standard deviation), and one in so many does (judgement) [1e-6], [1]
    fit_drift_overlap_s : least overlap in which two speeds are fitted with a drift [s]
    least_u_ratio : no clock is known better (standard uncertainty) than this share of the step of the grid [1]
    confirmed_s, confirmed_overlap_s : a fit of power that alone would not be believed is, where the sharp forms of the
        two powers, tried everywhere, fit best within this of it, over an overlap of at least this [s], [s]
    power_overlap_s, power_u_s : power predicted from motion fits less sharply than speed fits speed, and riders and
        motors of one kind shift it one way, of another kind the other way (0.14 s early and 0.26 s late on average, and
        up to 0.8 s off, in simulated rides of two kinds): drift is looked for from this overlap on only, and believed
        at three times its own uncertainty only; no such join is known better than this standard uncertainty [s], [s]
    """

    least_overlap_s: float = 120.0
    least_overlap_ratio: float = 0.3
    least_agreement: float = 0.5
    least_score: float = 4.5
    rival_ratio: float = 0.9
    near_s: float = 120.0
    near_zone_s: float = 60.0
    wall_s: float = 3.0
    disagree_s: float = 30.0
    contradicted_agreement: float = 0.8
    slow_s: float = 10.0
    slow_agreement: float = 0.92
    opposed_agreement: float = 0.2
    decisive_spread_mps: float = 0.5
    drift_overlap_s: float = 1200.0
    window_s: float = 300.0
    n_windows: int = 3
    largest_drift_ppm: float = 5000.0
    drift_u_limit_ppm: float = 20.0
    unseen_drift_ppm: float = 100.0
    n_fits: int = 8
    settle_s: float = 2.0
    slope_s: float = 1.0
    block_s: float = 20.0
    slow_mps: float = 2.0
    unusual_drift_ppm: float = 1000.0
    unusual_ratio: float = 0.02
    fit_drift_overlap_s: float = 600.0
    least_u_ratio: float = 0.1
    confirmed_s: float = 2.0
    confirmed_overlap_s: float = 300.0
    power_overlap_s: float = 3600.0
    power_u_s: float = 0.3


DEFAULTS = ClockSettings()
