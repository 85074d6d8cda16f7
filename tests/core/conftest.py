"""Searches by Hypothesis give the same result on every run and on slow machines."""

from hypothesis import settings

settings.register_profile("core", deadline=None, derandomize=True)
settings.load_profile("core")
