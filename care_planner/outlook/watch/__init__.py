"""Tonight and the next nights: which tree is in danger by the forecast, and when that is an alarm."""
