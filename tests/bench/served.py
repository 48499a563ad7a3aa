"""The bench's settings for a server process: the tool's addresses and the bare view beside them."""

from tests.bench.settings import *  # noqa: F403

ROOT_URLCONF = "tests.bench.bare"
