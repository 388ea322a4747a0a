"""Places of the world with position, height and time zone, offline."""
