"""A page that has the scripts and nothing else: what it reads needs no clinic behind it."""

import mimetypes
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route

ROOT = Path(__file__).resolve().parents[3]
ADDRESS = "http://codes.test"


def _from_disk(route: Route) -> None:
    path = route.request.url.removeprefix(ADDRESS)
    if path == "/":
        route.fulfill(body="<!doctype html><title>Codes</title>", content_type="text/html")
        return
    file = ROOT / path.lstrip("/")
    if not file.is_file():
        route.fulfill(status=404)
        return
    kind = mimetypes.guess_type(file.name)[0]
    route.fulfill(body=file.read_bytes(), content_type=kind)


@pytest.fixture(scope="module")
def bare_page(chromium: Browser) -> Iterator[Page]:
    """A page that answers `import("/static/js/...")` from the folder static."""
    context = chromium.new_context()
    page = context.new_page()
    page.route("**/*", _from_disk)
    page.goto(f"{ADDRESS}/")
    yield page
    context.close()
