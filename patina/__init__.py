"""Patina: recipes, measured colour and safety notes for people who colour bronze."""

__version__ = "0.1.0"
