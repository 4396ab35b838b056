"""The points of a GPX document as columns: what stands in them, however the document was taken apart."""
