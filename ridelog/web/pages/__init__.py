"""Pages that the server writes whole: no script is needed to read, print or reload them."""
