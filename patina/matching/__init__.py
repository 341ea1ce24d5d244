"""Like that one: agreed finishes, verdicts with their doubt, series, ageing and search."""
