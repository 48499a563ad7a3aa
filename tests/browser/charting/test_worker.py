"""The charting screen opens without network, and nothing of a patient goes into its cache."""

import contextlib

import pytest
from django.http import HttpResponseRedirect
from playwright.sync_api import expect

from records.charting.queries import kept
from records.charting.views import pages
from records.sessions.models import InjectionEntry
from tests.browser.charting.device import CACHED, PATIENT, Device, make_sitting
from tests.browser.conftest import CHROMIUM, SWITCHES
from tests.browser.watch import KEPT, TABLET, PageWatch

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def sitting(injector):
    return make_sitting(injector)


@pytest.fixture
def device(new_page, sign_in, injector, sitting) -> Device:
    page = new_page(viewport=TABLET, has_touch=True, **KEPT)
    sign_in(page, injector)
    return Device(page, sitting)


@pytest.fixture
def browser_on_disk(chromium, live_server, tmp_path):
    """`with browser_on_disk() as page`: one browser of the same tablet, closed at the end."""

    @contextlib.contextmanager
    def opened():
        context = chromium.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=CHROMIUM, args=SWITCHES, viewport=TABLET,
            base_url=live_server.url,
        )  # fmt: skip
        try:
            page = context.new_page()
            watch = PageWatch(page, live_server.url)
            yield page
            assert watch.problems == []
        finally:
            context.close()

    return opened


def test_it_opens_after_a_restart_without_network_and_loses_nothing(
    browser_on_disk, sign_in, injector, sitting
):
    with browser_on_disk() as page:
        sign_in(page, injector)
        device = Device(page, sitting)
        device.open()
        device.kept_for_offline()
        device.offline()
        device.log()
        page.reload()
        device.shown()
        device.log()
        expect(page.locator("[data-row]")).to_have_count(2)
    with browser_on_disk() as page:
        device = Device(page, sitting)
        device.offline()
        device.open()
        device.log()
        expect(page.locator("[data-row]")).to_have_count(3)
        assert not InjectionEntry.objects.exists()
        device.offline(False)
        sign_in(page, injector)
        device.stored()
    assert InjectionEntry.objects.filter(session=sitting).count() == 3


def test_the_cache_holds_the_screen_and_nothing_of_a_person(device, injector):
    device.open()
    device.log()
    device.stored()
    device.kept_for_offline()
    device.page.goto("/patients/")
    device.page.goto(f"/charting/#{device.session.key}")
    device.shown()
    bodies = device.page.evaluate(CACHED)
    assert {"/charting/", "/static/js/charting/app.js", "/static/css/tokens.css"} <= bodies.keys()
    assert all(
        path == "/charting/" or path.startswith(("/static/", "/charting/reference/", "/drawings/"))
        for path in bodies
    )
    held = "".join(bodies.values())
    for told in (PATIENT, "Unmistakable", injector.full_name):
        assert told not in held
    assert "csrf" not in bodies["/charting/"]


def test_a_redirect_to_the_sign_in_is_never_kept_as_the_screen(device, monkeypatch):
    monkeypatch.setattr(pages, "HttpResponse", lambda text: HttpResponseRedirect("/staff/sign-in/"))
    device.page.goto("/")
    outcome = device.page.evaluate(
        """async () => {
            const made = await navigator.serviceWorker.register("/charting/worker.js");
            const worker = made.installing ?? made.waiting ?? made.active;
            const isOver = () => worker.state !== "installing";
            await new Promise((done) => {
                worker.addEventListener("statechange", () => isOver() && done());
            });
            return [worker.state, await caches.keys()];
        }"""
    )
    assert outcome == ["redundant", []]


def test_signed_out_the_worker_is_not_taken_and_the_kept_screen_stays(device):
    device.open()
    device.kept_for_offline()
    device.page.context.clear_cookies()
    failed = device.page.evaluate(
        """async () => {
            const made = await navigator.serviceWorker.getRegistration("/charting/");
            return made.update().then(() => "updated", () => "refused");
        }"""
    )
    assert failed == "refused"
    assert "data-charting" in device.page.evaluate(CACHED)["/charting/"]


def test_a_new_version_is_said_and_taken_when_wanted(device, monkeypatch):
    device.open()
    device.kept_for_offline()
    before = device.page.evaluate("() => caches.keys()")
    real = kept.shell_text
    for module in (kept, pages):
        monkeypatch.setattr(
            module, "shell_text", lambda: real().replace("<body ", "<body data-newer ")
        )
    device.page.evaluate(
        "async () => (await navigator.serviceWorker.getRegistration('/charting/')).update()"
    )
    # In a session it would push the face away under the hand.
    expect(device.page.locator("[data-new-version]")).to_be_attached()
    expect(device.page.locator("[data-new-version]")).to_be_hidden()
    device.page.click("[data-to-day]")
    device.page.get_by_role("button", name="Load it now").click()
    expect(device.page.locator("body[data-newer]")).to_be_attached()
    device.shown()
    after = device.page.evaluate("() => caches.keys()")
    assert len(after) == 1
    assert after != before
    expect(device.page.get_by_role("button", name="Load it now")).to_have_count(0)


def test_where_the_browser_offers_no_worker_it_charts_and_says_so(
    chromium, live_server, settings, sign_in, injector, sitting
):
    """Plain http by a name of the clinic's network: no service worker, no cryptography."""
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "clinic.test"]
    port = live_server.url.rsplit(":", 1)[1]
    rules = "--host-resolver-rules=MAP clinic.test 127.0.0.1"
    browser = chromium.browser_type.launch(executable_path=CHROMIUM, args=[*SWITCHES, rules])
    try:
        origin = f"http://clinic.test:{port}"
        context = browser.new_context(base_url=origin, viewport=TABLET)
        page = context.new_page()
        watch = PageWatch(page, origin)
        sign_in(page, injector)
        cookies = [cookie | {"domain": "clinic.test"} for cookie in context.cookies()]
        context.add_cookies(cookies)
        device = Device(page, sitting)
        device.open()
        assert page.evaluate("() => isSecureContext || 'serviceWorker' in navigator") is False
        expect(page.get_by_text("This connection is not secure")).to_be_visible()
        device.log()
        device.stored()
        device.lock()
        expect(page.locator("[data-lock-password]")).to_be_visible()
        expect(page.locator("[data-lock-problem]")).to_contain_text("no quick code")
        assert watch.problems == []
    finally:
        browser.close()
    assert InjectionEntry.objects.filter(session=sitting).count() == 1
