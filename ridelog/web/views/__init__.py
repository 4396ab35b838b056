"""What the page can show, one view a file."""
