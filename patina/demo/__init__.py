"""An invented studio with invented people and places, built through the same deeds that a person uses."""
