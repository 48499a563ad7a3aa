"""
What a tablet keeps to open the charting screen without network: the page, its static files, the
reference and the drawings. Nothing of a person or a patient is among it.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse

from clinic.access.enums import Role
from clinic.access.navigation import entries_for
from records.charting.queries.modules import module_addresses
from records.charting.queries.reference import reference_text, reference_url

# Folders and endings of static files that the page, or what it loads, names.
PARTS = (
    ("js/charting/", ".js"),
    ("js/tablet/", ".js"),
    ("js/scanning/", ".js"),
    ("zxing/", ".js"),
    ("zxing/", ".wasm"),
    ("css/", ".css"),
    ("fonts/", ".woff2"),
    ("img/", ".svg"),
    ("img/", ".png"),
)
# Beside those, the behaviours that every page has lie in js/ itself.
SHARED = "js/"
WORKER = "js/tablet/worker.js"
MAIN = "js/charting/main.js"


@dataclass(frozen=True)
class Kept:
    """
    Attributes:
        shell: address of the charting screen.
        files: addresses of all that it needs, itself included.
        version: changes when one of them does, in name or in content.
    """

    shell: str
    files: tuple[str, ...]
    version: str


def shell_text() -> str:
    """The charting screen as every tablet gets it, without a name or a token in it."""
    context = {
        "reference_url": reference_url(),
        "navigation": entries_for({Role.INJECTOR}, reverse("charting")),
        "modules": module_addresses(MAIN),
    }
    return render_to_string("charting/shell.html", context)


def kept_by_tablets() -> Kept:
    """What the service worker of this version of the tool keeps."""
    shell = reverse("charting")
    files = (shell, *_static_addresses(), reference_url(), *_drawing_addresses())
    content = json.dumps([files, _static_digest(), shell_text(), worker_source()])
    return Kept(shell, files, hashlib.sha256(content.encode()).hexdigest()[:16])


def worker_source() -> str:
    """The worker's own script; it is not hashed by name, for its address must never change."""
    found = finders.find(WORKER)
    if not isinstance(found, str):
        raise FileNotFoundError(WORKER)
    with open(found, encoding="utf-8") as script:
        return script.read()


def _drawing_addresses() -> list[str]:
    views = json.loads(reference_text())["views"]
    return [address for view in views for address in view["drawings"].values()]


def _static_names() -> list[str]:
    names = {name for finder in finders.get_finders() for name, _ in finder.list([])}
    return sorted(name for name in names if _is_needed(name) and name != WORKER)


def _is_needed(name: str) -> bool:
    if name.startswith(SHARED) and name.endswith(".js") and name.count("/") == 1:
        return True
    return any(name.startswith(folder) and name.endswith(end) for folder, end in PARTS)


def _static_addresses() -> list[str]:
    return _addresses() if settings.DEBUG else list(_addresses_once())


@lru_cache(maxsize=1)
def _addresses_once() -> tuple[str, ...]:
    return tuple(_addresses())


def _addresses() -> list[str]:
    return [static(name) for name in _static_names()]


def _static_digest() -> str:
    """Of the files' content: on a developer's machine their names stay when they change."""
    if not settings.DEBUG:
        return ""
    digest = hashlib.sha256()
    for name in _static_names():
        with open(str(finders.find(name)), "rb") as file:
            digest.update(file.read())
    return digest.hexdigest()
