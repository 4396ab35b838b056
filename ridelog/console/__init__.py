"""Answers and column readings on a terminal, and tables as CSV elsewhere: what `ridelog.tell` says, drawn."""
