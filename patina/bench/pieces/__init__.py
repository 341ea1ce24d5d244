"""Pieces and casts."""
