"""Sheets for the wall: a week, a year, and the page for whoever waters while everyone is away."""
