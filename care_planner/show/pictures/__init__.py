"""A tree's year as a picture: geometry that page and paper draw alike."""
