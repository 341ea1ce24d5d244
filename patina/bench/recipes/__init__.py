"""What is written in a recipe: saved, revised, released, read from old words, settled between two writers."""
