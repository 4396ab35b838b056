"""Where the energy went."""
