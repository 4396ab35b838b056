"""Special functions are scipy's, and numpy is left as it was."""

import subprocess
import sys

import numpy as np
import pytest
from scipy import special, stats

from ridelog.uncertain.special import erf, normal_p, normal_z, student_t


def test_they_are_those_of_scipy():
    z = np.linspace(-8, 8, 101)
    assert (erf(z) == special.erf(z)).all()
    assert (normal_p(z) == special.ndtr(z)).all()
    assert normal_z(0.975) == pytest.approx(stats.norm.ppf(0.975), rel=1e-14)
    assert student_t(7, 0.975) == pytest.approx(2.365, abs=0.0005)  # JCGM 100:2008, table G.2


@pytest.mark.parametrize("before", ["", "import numpy.testing, numpy.f2py\n"])
def test_opening_the_door_leaves_numpy_whole(before):
    code = before + (
        "import sys, ridelog.uncertain.special as s; s.normal_z(0.9)\n"
        "print('numpy.f2py' in sys.modules, 'numpy.testing' in sys.modules)\n"
        "import numpy, scipy.special, scipy.stats; numpy.testing.assert_equal(1, 1); print(numpy.f2py.__file__ != '')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == [str(bool(before))] * 2 + ["True"]
