"""The errors that refuse a file and the questions that it leaves open: one a function, with place, cause and hint."""
