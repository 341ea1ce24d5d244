"""Photographs by their content, in a folder or a store, and what each of them shows."""
