"""Files read and written whole, and locks between programs: the one place that knows how."""
