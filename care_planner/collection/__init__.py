"""What the grower keeps: the site, its benches, the people's time and the trees."""
