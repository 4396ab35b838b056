"""The bike: its form, and what rides themselves tell of it."""
