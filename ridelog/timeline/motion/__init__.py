"""Speed, distance and height of one recording, and the best of several."""
