"""Delimited text logs, read by what their columns say."""
