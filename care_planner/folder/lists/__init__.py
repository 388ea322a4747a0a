"""Trees and notes as a spreadsheet: read from a grower's own, written so that nothing is lost."""
