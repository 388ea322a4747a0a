"""What the days to come hold: nights of danger, water, shows; and a past season lived again."""
