"""A studio in a folder or on a server: opened, brought to the newest schema, written in by one deed at a time."""
