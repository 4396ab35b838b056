"""Statistics of differences, on arrays alone: nothing here knows what a ride is."""
