"""Any season of any record lived again day by day, with forecasts made of what came later."""
