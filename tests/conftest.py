"""The same examples on every run: a check that fails, fails again."""

from hypothesis import settings
from whole import some_of

settings.register_profile("same", derandomize=True, deadline=None, max_examples=some_of(100))
settings.load_profile("same")
