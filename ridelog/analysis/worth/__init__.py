"""Whether regeneration is worth it."""
