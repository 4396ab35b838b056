"""The fit of a coast-down against closed forms and the GUM."""

import numpy as np
import pytest
from scipy import stats

from ridelog.analysis.coastdown.fit import N_WAVES, CoastModel, Priors, Stretch, fit_coasts, fitted_covariance

G = 9.80665
# Quadratic law, level, no wind: v = v_c tan(φ0 − t/τ), v_c = √(A/B), τ = m_e/√(AB), φ0 = atan(v0/v_c)
# (integration of m_e dv/dt = −(A + B v²) by hand)
MASS_KG, EFFECTIVE_KG, CRR, CDA_M2, DENSITY = 110.0, 111.4475, 0.0077, 0.559, 1.225
A_N, B_KGPM = CRR * MASS_KG * G, 0.5 * DENSITY * CDA_M2


def closed_form(time_s, first_mps=25 / 3.6):
    critical, tau_s = np.sqrt(A_N / B_KGPM), EFFECTIVE_KG / np.sqrt(A_N * B_KGPM)
    return critical * np.tan(np.arctan(first_mps / critical) - time_s / tau_s)


def level(time_s, speed_mps, *, way=1, heading=None):
    nothing = np.zeros(len(time_s))
    ways = None if heading is None else nothing + heading
    return Stretch(np.asarray(time_s, float), np.asarray(speed_mps, float), nothing, ways, nothing + 0.0, 0, way)


def priors(n_roads=1, **changes):
    """Nothing acts but drag, unless it is said."""
    tiny = {"wind_mps": 1e-9, "head_u_mps": 1e-9, "gust_mps": 1e-9, "speed_ratio": 1e-9, "height_ratio": 1e-9}
    return Priors(**(tiny | {"head_mps": 0.0, "grade_u": np.full((n_roads, N_WAVES), 1e-12)} | changes))


def crr_and_cda(fit):
    return fit.drag * EFFECTIVE_KG / (MASS_KG * G), 2 * fit.drag_area * EFFECTIVE_KG / DENSITY


def test_the_closed_form_returns_its_own_drag():
    """To 1e-6 relative, from six speeds 5 to 10 s apart; the integration itself errs by some 1e-9."""
    time_s = np.array([0, 5, 10, 20, 30, 40.0])
    fit = fit_coasts([level(time_s, closed_form(time_s))], priors(), mass_ratio=MASS_KG / EFFECTIVE_KG)
    assert crr_and_cda(fit) == pytest.approx((CRR, CDA_M2), rel=1e-6)


def test_the_printed_series_returns_its_drag():
    """The same speeds to six decimals, worked out apart from this code; their rounding leaves 1e-6."""
    time_s = np.array([0, 5, 10, 20, 30, 40.0])
    printed = [6.944444, 5.936593, 5.097490, 3.754020, 2.690309, 1.790164]
    fit = fit_coasts([level(time_s, printed)], priors(), mass_ratio=MASS_KG / EFFECTIVE_KG)
    assert crr_and_cda(fit) == pytest.approx((CRR, CDA_M2), rel=1e-6)


@pytest.mark.parametrize(("speed_mps", "slows_mps2"), [(6, 0.185129), (4, 0.123685), (2, 0.086819)])
def test_decelerations_are_those_of_the_force_balance(speed_mps, slows_mps2):
    """(A + B v²)/m_e by hand, to the digits worked out; from the model over 0.1 s, whose middle is at v."""
    model = CoastModel([level(np.linspace(0, 0.1, 5), np.zeros(5))], priors(), MASS_KG / EFFECTIVE_KG)
    parameters = model.start(A_N / EFFECTIVE_KG, B_KGPM / EFFECTIVE_KG)
    parameters[model.first_speed] = speed_mps + 0.05 * slows_mps2
    speeds = model.speeds(parameters)[0]
    assert (speeds[0] - speeds[-1]) / 0.1 == pytest.approx(slows_mps2, abs=6e-7)


def test_the_covariance_is_that_of_the_gum_s_thermometer():
    """JCGM 100:2008, H.3: y1 −0.1712 (0.0029), y2 0.00218 (0.00067), r −0.930, b(30 °C) −0.1494 (0.0041)."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
    b = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])
    jacobian = np.column_stack([np.ones(len(t)), t - 20])
    y, squares, *_ = np.linalg.lstsq(jacobian, b, rcond=None)
    covariance = fitted_covariance(jacobian, float(np.sqrt(squares[0] / (len(t) - 2))))
    u = np.sqrt(np.diag(covariance))
    assert y == pytest.approx([-0.1712, 0.00218], abs=6e-5)
    assert u == pytest.approx([0.0029, 0.00067], abs=6e-5)
    assert covariance[0, 1] / (u[0] * u[1]) == pytest.approx(-0.930, abs=6e-4)
    at_30 = np.array([1.0, 10.0])
    assert np.sqrt(at_30 @ covariance @ at_30) == pytest.approx(0.0041, abs=6e-5)
    line = stats.linregress(t - 20, b)  # by another way
    assert u == pytest.approx([line.intercept_stderr, line.stderr], rel=1e-9)


def test_the_jacobian_is_that_of_single_steps():
    """Moving all roads and all stretches at once gives what moving every parameter by itself gives."""
    rng = np.random.default_rng(3)
    stretches = []
    for number in range(3):
        time_s = np.arange(12.0)
        along = 6 * time_s
        stretches.append(
            Stretch(time_s, 7 - 0.1 * time_s, 0.01 * np.sin(along / 40), 0.5 + 0 * along, along, number % 2, 1)
        )
    model = CoastModel(stretches, priors(2, wind_mps=1.0, gust_mps=0.3, speed_ratio=0.01, height_ratio=0.02,
                                         grade_u=np.full((2, N_WAVES), 0.02)), 0.98)  # fmt: skip
    parameters = model.start(0.08, 0.003)
    parameters[2 : model.first_speed] = 0.1 * rng.standard_normal(model.first_speed - 2)
    whole = model.jacobian(parameters)
    for column in range(model.n_parameters):
        step = np.zeros(model.n_parameters)
        step[column] = 1e-6 if column < 2 else 1e-4
        slope = (model.speeds(parameters + step) - model.speeds(parameters - step))[0] / (2 * step[column])
        assert whole[:, column] == pytest.approx(slope, abs=1e-5 * max(np.abs(slope).max(), 1e-3))


def test_a_head_wind_that_nobody_knows_of_cancels_out_and_back():
    """1 m/s along the road: one way, taken for still air, is off by more than 10 %, both ways by less than 2 %."""
    time_s = np.arange(0, 36.0)

    def ridden(wind, heading):
        steps, speed, speeds = 1000, 8.0, []
        for _second in time_s:
            speeds.append(speed)
            for _ in range(steps):
                middle = speed - 0.5 / steps * (A_N + B_KGPM * (speed + wind) * abs(speed + wind)) / EFFECTIVE_KG
                speed -= 1 / steps * (A_N + B_KGPM * (middle + wind) * abs(middle + wind)) / EFFECTIVE_KG
        return level(time_s, speeds, heading=heading)

    out, back = ridden(1.0, 0.0), ridden(-1.0, np.pi)
    one = crr_and_cda(fit_coasts([out], priors(), mass_ratio=MASS_KG / EFFECTIVE_KG))
    both = crr_and_cda(fit_coasts([out, back], priors(wind_mps=1.0), mass_ratio=MASS_KG / EFFECTIVE_KG))
    assert both == pytest.approx((CRR, CDA_M2), rel=0.02)
    assert abs(one[1] / CDA_M2 - 1) + abs(one[0] / CRR - 1) > 0.1


def test_noise_that_lasts_widens_the_covariance():
    """The same speeds with each error held for eight samples tell less than with eight times as many free errors."""
    rng = np.random.default_rng(5)
    time_s = np.arange(0, 40, 0.25)
    widths = []
    for held in (1, 8):
        noise = np.repeat(0.1 * rng.standard_normal(len(time_s) // held), held)
        fit = fit_coasts([level(time_s, closed_form(time_s) + noise)], priors(), mass_ratio=MASS_KG / EFFECTIVE_KG)
        widths.append(np.sqrt(fit.covariance[0, 0]))
        assert (fit.n_alike > 3) == (held == 8)
    assert widths[1] > 1.7 * widths[0]


def test_nothing_to_fit_is_said():
    """No stretch, no figures."""
    with pytest.raises(ValueError, match="no stretch"):
        fit_coasts([], priors())
