"""Property tests draw the same examples every time, and no slow moment of the machine fails them."""

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("steady")
