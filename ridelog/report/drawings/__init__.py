"""Charts as SVG, drawn from the same lines as those of the page: for documents, and for files."""
