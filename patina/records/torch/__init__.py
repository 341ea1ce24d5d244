"""The work at the torch: events, the journal, who worked with what for how long."""
