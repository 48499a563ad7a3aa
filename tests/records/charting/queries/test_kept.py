"""What tablets keep, under the hashed names that are served."""

import re
from pathlib import Path
from urllib.parse import urljoin

from records.charting.queries import kept

LINKS = {
    ".js": re.compile(r"""(?:\bfrom|\bimport\(?)\s*["'](\.[^"']+)["']"""),
    ".css": re.compile(r"""url\(["']?([^)"'#]+)"""),
}


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


def test_the_reader_of_codes_is_kept_for_the_camera(collected):
    module = re.search(r'data-scan-module="([^"]+)"', kept.shell_text())[1]
    assert module.endswith(".wasm")
    assert module in kept.kept_by_tablets().files
