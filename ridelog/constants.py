"""Constants that several rooms share."""

STANDARD_GRAVITY = 9.80665  # m/s², ISO 80000-3
NOMINAL_PACK_V = 48.0  # turns power into current, or current into power, where only one of them is logged
NOMINAL_CIRCUMFERENCE_M = 2.1  # of a wheel, only ever used where the scale does not matter
