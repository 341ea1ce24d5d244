"""Like that one: agreed finishes, verdicts, series, the nearest finishes, plans and reconstructions."""
