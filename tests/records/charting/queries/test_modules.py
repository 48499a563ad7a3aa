"""The page of the charting screen names every script that its main script imports."""

import re
from urllib.parse import urljoin

import pytest

from records.charting.queries import kept, modules

IMPORTED = re.compile(r"""\b(?:from|import)\s*["'](\.[^"']+)["']""")
PRELOADED = re.compile(r'<link rel="modulepreload" href="([^"]+)">')
STARTED = re.compile(r'<script type="module" src="([^"]+)">')


def test_page_names_all_that_its_main_script_imports(collected):
    """Walked over the served files, whose names and imports carry hashes."""
    page = kept.shell_text()
    preloaded = PRELOADED.findall(page)
    (main,) = [address for address in STARTED.findall(page) if "/charting/main." in address]
    reached, left = set(), [main]
    while left:
        address = left.pop()
        if address not in reached:
            reached.add(address)
            text = (collected / address.removeprefix("/static/")).read_text()
            left += [urljoin(address, found) for found in IMPORTED.findall(text)]
    assert len(reached) > 10
    assert sorted(preloaded) == sorted(reached)
    assert all(re.search(r"\.[0-9a-f]{12}\.js$", address) for address in preloaded)


def test_levels_are_those_in_which_a_browser_finds_modules(settings, tmp_path):
    files = {
        "js/a.js": 'import { b } from "./b.js";\nimport "./part/c.js";\n',
        "js/b.js": "export { d } from './part/d.js';\n",
        "js/part/c.js": 'import {\n  e,\n} from "../e.js";\nimport { a } from "../a.js";\n',
        "js/part/d.js": "",
        "js/e.js": 'const text = "from here";\n',
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    settings.STATICFILES_DIRS = [tmp_path]
    assert modules.module_levels("js/a.js") == [
        ["js/a.js"],
        ["js/b.js", "js/part/c.js"],
        ["js/part/d.js", "js/e.js"],
    ]


def test_module_that_is_not_there_stops_the_page(settings, tmp_path):
    (tmp_path / "a.js").write_text('import "./gone.js";\n')
    settings.STATICFILES_DIRS = [tmp_path]
    with pytest.raises(FileNotFoundError, match=re.escape("gone.js")):
        modules.module_levels("a.js")
