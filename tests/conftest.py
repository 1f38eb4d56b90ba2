"""What holds for all tests."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# A deadline would measure the compiler and the neighbours; the seed is fixed so that two runs
# of one commit tell the same, and a night looks further with a new one and prints how to repeat it.
settings.register_profile("test", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("night", deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("night" if os.environ.get("ULLAGE_NIGHT") == "1" else "test")
