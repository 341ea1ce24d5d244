"""The work at the torch: passes, heat, the pot's outlook, the journal, rinse and release, hours and materials."""
