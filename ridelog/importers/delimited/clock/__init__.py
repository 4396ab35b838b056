"""The time of a text log: which columns tell it, in what form, and the sample times that they give."""
