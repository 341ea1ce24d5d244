"""Recipes with their revisions, drafts and releases."""
