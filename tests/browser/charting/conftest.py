"""A tablet against a stand-in for the server, so that every fault happens when it is ordered."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.charting.clinic import Clinic, said, session
from tests.browser.charting.tablet import Tab
from tests.browser.watch import TABLET, PageWatch


@pytest.fixture
def clinic() -> Clinic:
    return Clinic()


@pytest.fixture
def key(clinic) -> str:
    """The key of a session under way, as the server knows it."""
    shown = session()
    clinic.sessions[shown["key"]] = shown
    return shown["key"]


@pytest.fixture
def new_tab(chromium: Browser, live_server, clinic, sign_in, injector) -> Iterator[Callable]:
    """`new_tab()`: one more tab of the same browser, not opened yet."""
    context = chromium.new_context(base_url=live_server.url, viewport=TABLET)
    context.set_default_timeout(10_000)
    context.route(f"{live_server.url}/charting/**", clinic.handle)
    watches = []

    def make() -> Tab:
        page = context.new_page()
        watches.append(PageWatch(page, live_server.url))
        sign_in(page, injector)
        return Tab(page)

    yield make
    context.close()
    problems = [problem for watch in watches for problem in watch.problems]
    # Faults to order answer with a 500.
    unexpected = [problem for problem in problems if "/charting/" not in problem]
    assert not unexpected, "\n".join(unexpected)


@pytest.fixture
def tab(new_tab, key) -> Tab:
    """An open tab, the day's list read."""
    return new_tab().open()


@pytest.fixture
def refuse(tab, clinic):
    """`refuse(op, outcome)`: the server answers so until the operation is withdrawn."""
    clinic.fault = "away"

    def send(op: dict, answer: dict | None = None) -> dict:
        clinic.refusals[op["id"]] = answer or said(op, "refused", "More than remains.")
        clinic.fault = ""
        tab.flush()
        clinic.fault = "away"
        return op

    return send


@pytest.fixture
def settle(tab, clinic):
    def decide(op: dict, choice: str, **extra) -> None:
        clinic.fault = ""
        tab.resolve(op, choice, **extra)

    return decide
