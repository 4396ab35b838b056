"""Drag area and constant drag from the coasting in rides."""
