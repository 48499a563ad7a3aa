"""The settings of the tests, with a second database beside DATABASE_URL's for the small clinic."""

import os

from tests.settings import *  # noqa: F403
from tests.settings import DATABASES, TIME_ZONE

_large = DATABASES["default"]
DATABASES["small"] = _large | {"NAME": f"{_large['NAME']}_small"}

# A part that serves a clinic's day does so in the morning; see tests/bench/__main__.py.
TIME_ZONE = os.environ.get("BENCH_TIME_ZONE", TIME_ZONE)
