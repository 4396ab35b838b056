"""Who is let in: from which site a request may come, and, where the page has a password, who knows it."""
