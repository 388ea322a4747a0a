"""What was seen and done, as dated entries."""
