"""The weather record and what is computed from temperature and day length alone."""
