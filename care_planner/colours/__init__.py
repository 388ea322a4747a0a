"""Which branch bore which flower, what its wood can still give, and what follows for cuts and cuttings."""
