"""The migrations of a studio's database, from its first schema on."""
