"""What the log can and cannot tell."""
