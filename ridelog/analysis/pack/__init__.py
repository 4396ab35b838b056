"""How the pack was treated."""
