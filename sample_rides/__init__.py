"""Invented rides with their known truth, and the scripts that make them."""
