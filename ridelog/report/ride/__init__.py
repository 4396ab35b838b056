"""The document of one ride, part by part."""
