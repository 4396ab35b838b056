"""The charts of a ride, each with what belongs to it."""
