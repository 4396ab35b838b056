"""Figures as pure functions of records and series."""
