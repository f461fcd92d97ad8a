"""One Hypothesis profile for all: the same examples on every run, and no endless shrinking."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, Phase, settings

settings.register_profile(
    "repeatable",
    derandomize=True,
    deadline=None,
    print_blob=True,
    phases=(Phase.explicit, Phase.generate, Phase.target),
    suppress_health_check=(HealthCheck.too_slow,),
)
# For hunting: `HYPOTHESIS_PROFILE=hunt` draws new examples each run and shrinks what it finds.
settings.register_profile("hunt", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
