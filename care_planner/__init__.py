"""Seasonal care planning for container trees: YAML and weather in, dated and explained work out."""
