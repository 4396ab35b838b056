"""Recordings to a ride: clock offset and drift, overlap, the common series."""
