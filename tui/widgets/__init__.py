"""Parts that more than one screen is built of."""
