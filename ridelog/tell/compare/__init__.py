"""The words for rides under different set-ups."""
