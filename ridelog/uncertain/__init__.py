"""A number with its uncertainty: trials, intervals and budgets (JCGM 100, JCGM 101)."""
