"""Who is at work, what they may do, and what is left out of the answers they get."""
