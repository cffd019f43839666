"""Generated examples are checked for being right, not for being quick on a busy machine."""

from hypothesis import settings

settings.register_profile("no clock", deadline=None)
settings.load_profile("no clock")
