"""What can hurt: safety notes, what must not meet, thresholds, the air of a job, the exposure log."""
