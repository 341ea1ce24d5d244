"""Safety notes computed for the solution in the pot: classes, dangers, air, persons and waste."""
