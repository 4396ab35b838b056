"""Pages of what is asked for by a form: reports, comparisons, plans, and how far each is."""
