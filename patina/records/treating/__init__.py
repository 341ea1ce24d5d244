"""The conservator's treatment record."""
