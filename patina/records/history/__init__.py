"""What was done to a record, taken back, signed off."""
