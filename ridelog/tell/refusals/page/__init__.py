"""What the page refuses, and to whom."""
