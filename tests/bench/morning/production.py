"""As a clinic is served: the tool's own settings, and the empty view beside its addresses."""

import os

from clinic.settings import *  # noqa: F403

ROOT_URLCONF = "tests.bench.bare"
# In which it is morning; see tests/bench/__main__.py.
TIME_ZONE = os.environ["BENCH_TIME_ZONE"]
