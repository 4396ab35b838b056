"""The pages of many rides: the list of them, one hill over time, and the bikes of a fleet."""
