"""The document of a comparison, part by part."""
