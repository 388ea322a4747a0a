"""One hypothesis profile: no deadline, since machines are shared, and the same examples each time."""

from hypothesis import settings

settings.register_profile("project", deadline=None, derandomize=True)
settings.load_profile("project")
