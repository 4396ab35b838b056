"""Statistics of series of rides, on arrays alone: nothing here knows what a bike is."""
