"""What visitors ask for that takes longer than a request: documents of rides, comparisons, plans."""
