"""Test tiles, colour readings and how they were got."""
