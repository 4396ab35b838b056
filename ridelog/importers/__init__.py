"""Files to recordings: one module a format; `registry` asks each whether a file is its own."""
