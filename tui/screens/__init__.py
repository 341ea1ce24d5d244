"""One module for each place, and for the screens that open on top of them."""
