"""Questions and messages that stand on top of a screen; each gives back a value, or None when left."""
