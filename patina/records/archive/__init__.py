"""Archive bundles: records as one file that needs no program, and such a file taken in again."""
