"""The conservator's treatment record: its values, and what is worked out from them (pure)."""
