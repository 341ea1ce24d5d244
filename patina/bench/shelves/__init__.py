"""The shelf: lots, and substances as their safety data sheets describe them."""
