"""Feeds and pages over HTTP, for the phone at the bench. Nothing else of the package imports this."""
