"""Pieces and casts, and rows of old tables that became records."""
