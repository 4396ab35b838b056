"""Every kind of quantity has a unit in either system, by the exact factors.

The imperial factors are those of NIST Special Publication 811 (2008), Appendix B.8, where they are exact: the foot is
0.3048 m, the mile 1609.344 m, the mile an hour 0.44704 m/s, the pound 0.45359237 kg, the pound-force 4.4482216152605 N,
the square foot 0.09290304 m², and t/°F = 1.8 t/°C + 32. The pound-force foot is the product of two of them,
1.3558179483314004 N m.
"""

import pytest

from ridelog.tell import kinds, numbers
from ridelog.tell.numbers import IMPERIAL, METRIC


@pytest.mark.parametrize(
    ("value", "factor"),
    [
        (kinds.SPEED, 1 / 0.44704),
        (kinds.LENGTH, 1 / 0.3048),
        (kinds.ROAD, 1 / 1609.344),
        (kinds.MASS, 1 / 0.45359237),
        (kinds.FORCE, 1 / 4.4482216152605),
        (kinds.TORQUE, 1 / 1.3558179483314004),
        (kinds.DRAG_AREA, 1 / 0.09290304),
        (kinds.CONSUMPTION, 1.609344),
    ],
)
def test_factors_are_the_exact_ones(value, factor):
    """To the last bits of a double."""
    assert numbers.converted(1.0, value, IMPERIAL) == pytest.approx(factor, rel=1e-15)


@pytest.mark.parametrize("kind", kinds.KINDS, ids=lambda kind: kind.name)
def test_every_kind_has_a_unit_in_both_systems(kind):
    assert bool(numbers.symbol(kind, METRIC)) == bool(numbers.symbol(kind, IMPERIAL)) == (kind is not kinds.RATIO)
