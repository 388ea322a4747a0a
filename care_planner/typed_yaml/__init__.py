"""YAML text -> data with lines -> checked models, every mistake in plain words."""
