"""What every test shares: property tests that do not watch the clock."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# No timed tests: a loaded machine is slow, not wrong. Benchmarks measure speed.
settings.register_profile(
    "headwright", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("headwright")
