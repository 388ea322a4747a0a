"""Records of many stations -> the numbers of a pack: stages, paces, learning shares, and how well they do."""
