"""The log of changes, what is signed off, what is withdrawn."""
