"""Windows that have been given a day."""
