"""The scripts of the libraries that the page is made with: which of them it loads, and how they are sent."""
