"""Static files as they are served, under hashed names."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import call_command

from clinic import settings as served
from records.charting.queries import kept, modules


@pytest.fixture
def collected(settings, tmp_path) -> Iterator[Path]:
    """The folder that `collectstatic` fills with the storage that serves."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES
    call_command("collectstatic", verbosity=0, interactive=False)
    kept._addresses_once.cache_clear()
    modules._addresses_once.cache_clear()
    yield settings.STATIC_ROOT
    kept._addresses_once.cache_clear()
    modules._addresses_once.cache_clear()
