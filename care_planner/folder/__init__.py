"""A collection's folder, in and out."""
