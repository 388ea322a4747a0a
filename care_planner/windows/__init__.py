"""When each work opens and closes, and what blocks it."""
