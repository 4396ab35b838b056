"""Which offset and drift the clocks of two recordings have."""
