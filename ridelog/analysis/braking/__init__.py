"""When the bike was braked, what that had available, and what came back."""
