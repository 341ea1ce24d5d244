"""From a recipe and an area to the pot: amounts, bottles, batches, how strong they still are, where they go."""
