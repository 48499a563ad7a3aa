"""
The scripts that the charting screen imports, so that its page can name them all.

A browser finds a module's imports when it has read the module. Named in the page, all of them are
fetched at once instead of level by level, each of which costs a turn to the server.
"""

import posixpath
import re
from functools import cache

from django.conf import settings
from django.contrib.staticfiles import finders
from django.templatetags.static import static

# As `import ... from "./x.js"`, `export ... from "./x.js"` and `import "./x.js"`.
_IMPORTED = re.compile(r"""\b(?:from|import)\s*["'](\.[^"']+)["']""")


def module_addresses(entry: str) -> tuple[str, ...]:
    """Addresses of `entry`, the name of a static file, and of all that it imports at any depth."""
    return _addresses(entry) if settings.DEBUG else _addresses_once(entry)


@cache
def _addresses_once(entry: str) -> tuple[str, ...]:
    return _addresses(entry)


def _addresses(entry: str) -> tuple[str, ...]:
    return tuple(static(name) for level in module_levels(entry) for name in level)


def module_levels(entry: str) -> list[list[str]]:
    """
    Names in the order in which a browser finds them: `entry`, what it imports, what those import,
    each once.

    Raises:
        FileNotFoundError: a module imports one that is not there.
    """
    levels: list[list[str]] = []
    known: set[str] = set()
    found = [entry]
    while found:
        levels.append(found)
        known.update(found)
        asked = dict.fromkeys(name for module in found for name in _imports(module))
        found = [name for name in asked if name not in known]
    return levels


def _imports(name: str) -> list[str]:
    path = finders.find(name)
    if not isinstance(path, str):
        raise FileNotFoundError(name)
    with open(path, encoding="utf-8") as script:
        asked = _IMPORTED.findall(script.read())
    folder = posixpath.dirname(name)
    return [posixpath.normpath(posixpath.join(folder, address)) for address in asked]
