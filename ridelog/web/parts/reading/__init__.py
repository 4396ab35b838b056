"""What each column of a log was taken for, what an answer needs, and what choices changed."""
