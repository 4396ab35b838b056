"""Constants that several rooms share."""

STANDARD_GRAVITY = 9.80665  # m/s², ISO 80000-3
NOMINAL_PACK_V = 48.0  # turns power into current, or current into power, where only one of them is logged
