"""The words for many rides."""
