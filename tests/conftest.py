"""One hypothesis profile: no deadline, since machines are shared, and the same examples each time."""

from hypothesis import Phase, settings

# No shrinking: a failing plan is made anew for each step of it, which took minutes and seldom told more.
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
settings.register_profile("project", deadline=None, derandomize=True, phases=PHASES)
settings.load_profile("project")
