"""People and their roles, and what was handed over to whom."""
