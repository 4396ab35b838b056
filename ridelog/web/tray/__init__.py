"""What a visitor gave: files that are kept, the rides that they make, and the bike they were ridden on."""
