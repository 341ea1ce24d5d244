"""Old tables and folders of photographs brought in."""
