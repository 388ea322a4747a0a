"""Works laid into the hours that people have, so that the expected loss is least."""
