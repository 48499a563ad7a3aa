"""The settings of the tests, with a second database beside DATABASE_URL's for the small clinic."""

from tests.settings import *  # noqa: F403
from tests.settings import DATABASES

_large = DATABASES["default"]
DATABASES["small"] = _large | {"NAME": f"{_large['NAME']}_small"}
