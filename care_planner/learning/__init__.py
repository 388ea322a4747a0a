"""What notes teach of each tree's pace: the warmth it needs as a multiple of its taxon's."""
