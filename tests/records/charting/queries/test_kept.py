"""What tablets keep, under the hashed names that are served."""

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urljoin

import pytest
from django.core.management import call_command

from clinic import settings as served
from records.charting.queries import kept

LINKS = {
    ".js": re.compile(r"""(?:\bfrom|\bimport\(?)\s*["'](\.[^"']+)["']"""),
    ".css": re.compile(r"""url\(["']?([^)"'#]+)"""),
}


@pytest.fixture
def collected(settings, tmp_path) -> Iterator[Path]:
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES
    call_command("collectstatic", verbosity=0, interactive=False)
    kept._addresses_once.cache_clear()
    yield settings.STATIC_ROOT
    kept._addresses_once.cache_clear()


def test_whatever_a_kept_file_asks_for_is_kept_too(collected):
    files = set(kept.kept_by_tablets().files)
    assert any(re.fullmatch(r"/static/js/charting/app\.[0-9a-f]{12}\.js", path) for path in files)
    asked = {}
    for path in files:
        if links := LINKS.get(Path(path).suffix):
            text = (collected / path.removeprefix("/static/")).read_text()
            asked |= {urljoin(path, address): path for address in links.findall(text)}
    assert asked
    assert {address: by for address, by in asked.items() if address not in files} == {}
