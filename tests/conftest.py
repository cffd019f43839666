"""Settings for all tests."""

from hypothesis import HealthCheck, settings

# A shared, busy machine must not fail a test by being slow.
settings.register_profile(
    "tubrig", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
settings.load_profile("tubrig")
