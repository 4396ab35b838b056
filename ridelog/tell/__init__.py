"""Numbers and sentences for people: one place for digits, units and words."""
