"""What stands on the shelf: lots, pots, data sheets that were read."""
