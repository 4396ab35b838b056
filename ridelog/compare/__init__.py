"""Rides under two or more set-ups: what differs, how sure that is, and what else was different."""
