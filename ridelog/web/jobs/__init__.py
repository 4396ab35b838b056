"""Who is measured next, and where: a fair line, and a process for each ride that can be ended."""
