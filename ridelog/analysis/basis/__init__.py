"""What an answer rests on: files and clocks, thresholds, and every value of the bike with where it is from."""
