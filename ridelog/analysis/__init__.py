"""Ride -> Answer: one module a question, pure functions, arrays in and records out."""
