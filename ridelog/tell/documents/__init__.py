"""What documents say around their tables and charts."""
