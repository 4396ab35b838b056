"""Many rides of many bikes: found, measured, kept, and what all of them together tell."""
