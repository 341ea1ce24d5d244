"""What is in the pot: substances, strengths, volumes, weighing. Pure; nothing heavy is imported."""
