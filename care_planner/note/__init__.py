"""Taking a note: what was typed, the trees it means, what is doubted."""
