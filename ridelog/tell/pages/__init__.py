"""What the page says around its forms and lists."""
