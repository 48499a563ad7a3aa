"""
A real browser on the served tool. Everything in this folder is marked `browser`.

A page that breaks its own content policy, raises in a script, misses a static file or asks another
host for anything fails its test, whatever the test was about.
"""

import mimetypes
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.servers.basehttp import WSGIRequestHandler
from django.test import Client
from PIL import Image
from playwright.sync_api import Browser, Page, Route, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from tests.browser.chart import Chart
from tests.browser.scanning.pictures import film
from tests.browser.serving import StaticFromMemory
from tests.browser.watch import DESK, TABLET, PageWatch
from tests.factories import (
    consented,
    make_patient,
    make_product,
    make_session_with_unit,
    make_units,
)

# What is waited for may take as long on a busy machine as a page's own acts may.
WAIT_MS = 10_000
expect.set_options(timeout=WAIT_MS)
# Chromium without its window: the same engine, a fifth less work for each page.
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium-headless-shell")
# No sandbox, because the tests may run as root; the rest keeps the browser from calling home.
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
# Nothing is measured in the middle of a movement.
AS_SHOWN = {
    "viewport": DESK, "locale": "en-GB", "reduced_motion": "reduce", "service_workers": "block",
}  # fmt: skip
HERE = Path(__file__).parent
ROOT = HERE.parents[1]
BARE = "http://bare.test"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def live_server() -> Iterator[LiveServer]:
    """The tool, served to the browser, with static files from memory."""
    with pytest.MonkeyPatch.context() as patch:
        # The server looks its handler up when it starts.
        patch.setattr("django.contrib.staticfiles.handlers.StaticFilesHandler", StaticFromMemory)
        patch.setattr(WSGIRequestHandler, "disable_nagle_algorithm", True)
        server = LiveServer("localhost")
        yield server
        server.stop()


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    """
    One browser for this folder, closed before other tests go on.

    Playwright keeps an event loop in this thread, so Django takes every query here for one made in
    asynchronous code and refuses it. Inside this folder, and nowhere else, it is told otherwise.
    """
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield browser
        browser.close()


@pytest.fixture
def new_page(chromium: Browser, live_server) -> Iterator[Callable[..., Page]]:
    """
    Opens watched pages: `new_page(viewport=TABLET)`; every call is a browser of its own.

    Arguments are those of Playwright's `new_context`: viewport, color_scheme, has_touch ...
    Nothing is kept for a time without network unless the test asks for it with `**KEPT`: the worker
    fetches and writes the whole charting screen once more, a third of a test's work.
    """
    contexts, watches = [], []

    def open_page(**options) -> Page:
        context = chromium.new_context(base_url=live_server.url, **AS_SHOWN | options)
        context.set_default_timeout(WAIT_MS)
        contexts.append(context)
        page = context.new_page()
        watches.append(PageWatch(page, live_server.url))
        return page

    yield open_page
    for context in contexts:
        context.close()
    problems = [problem for watch in watches for problem in watch.problems]
    assert not problems, "\n".join(problems)


@pytest.fixture
def unit(injector):
    """A sealed syringe of 1 mL, the first of its lot."""
    return make_units(injector, make_product())[0]


@pytest.fixture
def session(injector, unit):
    """A session under way with `unit` on its tray, of a patient who agreed to it."""
    return make_session_with_unit(injector, consented(injector, make_patient(injector)), unit)


@pytest.fixture
def chart(new_page, sign_in, injector, session) -> Chart:
    """The charting screen of `session` on a tablet."""
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    return Chart(page, session.key)


@pytest.fixture
def page(new_page) -> Page:
    """A watched page at desk size."""
    return new_page()


@pytest.fixture
def sign_in(live_server) -> Callable[..., None]:
    """`sign_in(page, user)`: the page's browser gets a session without the sign-in form."""

    def start_session(page: Page, user) -> None:
        client = Client()
        client.force_login(user)
        name = settings.SESSION_COOKIE_NAME
        cookie = {"name": name, "value": client.cookies[name].value, "url": live_server.url}
        page.context.add_cookies([cookie | {"httpOnly": True}])

    return start_session


def _from_disk(route: Route) -> None:
    path = route.request.url.removeprefix(BARE)
    if path == "/":
        route.fulfill(body="<!doctype html><title>Bare</title>", content_type="text/html")
        return
    file = ROOT / path.lstrip("/")
    if not file.is_file():
        route.fulfill(status=404)
        return
    kind = mimetypes.guess_type(file.name)[0]
    route.fulfill(body=file.read_bytes(), content_type=kind)


@pytest.fixture(scope="module")
def bare_page(chromium: Browser) -> Iterator[Page]:
    """A page with no clinic behind it, which answers `import("/static/js/...")` from the folder."""
    context = chromium.new_context()
    page = context.new_page()
    page.route("**/*", _from_disk)
    page.goto(f"{BARE}/")
    yield page
    context.close()


@pytest.fixture
def page_with_camera(chromium: Browser, live_server, tmp_path) -> Iterator[Callable[..., Page]]:
    """`page_with_camera(picture)`: a watched page whose camera shows the picture."""
    opened = []

    def open_page(picture: Image.Image) -> Page:
        shown = tmp_path / "film.y4m"
        shown.write_bytes(film(picture))
        switches = [
            *SWITCHES,
            "--use-fake-device-for-media-stream",
            "--use-fake-ui-for-media-stream",
            f"--use-file-for-fake-video-capture={shown}",
        ]
        browser = chromium.browser_type.launch(executable_path=CHROMIUM, args=switches)
        page = browser.new_page(base_url=live_server.url, viewport=TABLET)
        opened.append((browser, PageWatch(page, live_server.url)))
        return page

    yield open_page
    for browser, _ in opened:
        browser.close()
    assert [problem for _, watch in opened for problem in watch.problems] == []
