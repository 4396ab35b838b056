"""The road: plane, height profile, slopes, and what air, rolling and grade ask for."""
