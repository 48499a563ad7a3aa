"""Leaving a tablet: nothing clinical stays on it, and nothing that waits is lost."""

import pytest
from playwright.sync_api import Page, expect

from records.sessions.models import InjectionEntry
from tests.browser.charting.device import PATIENT, Device, make_sitting
from tests.browser.watch import KEPT, TABLET
from tests.factories import PASSWORD, make_user

pytestmark = pytest.mark.django_db(transaction=True)

DOOR = "**/staff/sign-in/"
# Everything that IndexedDB, localStorage and Cache Storage hold, as one text.
HELD = """async () => {
    const held = [JSON.stringify(localStorage)];
    for (const { name } of await indexedDB.databases()) {
        const db = await new Promise((done) => {
            indexedDB.open(name).onsuccess = ({ target }) => done(target.result);
        });
        for (const store of db.objectStoreNames) {
            const rows = await new Promise((done) => {
                const all = db.transaction(store).objectStore(store).getAll();
                all.onsuccess = () => done(all.result);
            });
            held.push(JSON.stringify(store === "kv" ? rows.filter((row) => !row?.url) : rows));
        }
        db.close();
    }
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const request of await cache.keys()) {
            held.push(await (await cache.match(request)).text());
        }
    }
    return held.join("");
}"""


@pytest.fixture
def sitting(injector):
    return make_sitting(injector)


@pytest.fixture
def device(new_page, sign_in, injector, sitting) -> Device:
    page = new_page(viewport=TABLET, **KEPT)
    sign_in(page, injector)
    device = Device(page, sitting)
    device.open()
    return device


@pytest.fixture
def colleague(db):
    return make_user("colleague", is_injector=True)


def sign_in_at_the_door(page: Page, username: str) -> None:
    page.fill("#id_username", username)
    page.fill("#id_password", PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def sign_out_elsewhere(page: Page) -> None:
    page.locator(".menu__button").click()
    page.get_by_role("button", name="Sign out").click()


@pytest.mark.parametrize("where", ["charting", "elsewhere"])
def test_signing_out_leaves_nothing_of_a_patient(device, where):
    page = device.page
    device.log()
    device.stored()
    assert PATIENT in page.evaluate(HELD)
    page.evaluate("() => sessionStorage.setItem('charting-note', 'typed when the page was left')")
    if where == "charting":
        device.menu("[data-leave]")
    else:
        page.goto("/")
        sign_out_elsewhere(page)
    page.wait_for_url(DOOR)
    assert device.databases() == ["charting-tablet"]
    assert PATIENT not in page.evaluate(HELD)
    assert page.evaluate("() => sessionStorage.getItem('charting-note')") is None
    page.goto("/patients/")
    page.wait_for_url("**/staff/sign-in/**")


def test_what_waits_is_not_left_without_being_asked(device):
    page = device.page
    device.offline()
    device.log()
    device.menu("[data-leave]")
    dialog = page.locator("#leaving")
    expect(dialog).to_contain_text("1 entry is not stored in the clinic yet")
    page.get_by_role("button", name="Stay signed in").click()
    expect(dialog).to_be_hidden()
    device.menu("[data-leave]")
    page.get_by_role("button", name="Send now").click()
    expect(dialog).to_contain_text("cannot be reached")
    device.offline(False)
    page.get_by_role("button", name="Send now").click()
    page.wait_for_url(DOOR)
    assert InjectionEntry.objects.filter(session=device.session).count() == 1
    assert PATIENT not in page.evaluate(HELD)


@pytest.mark.parametrize("where", ["charting", "elsewhere"])
def test_a_disk_that_cannot_be_read_is_said(device, where):
    """Nothing was said, and elsewhere nothing happened at all."""
    page = device.page
    if where == "elsewhere":
        page.goto("/")
    page.evaluate("""() => {
        IDBObjectStore.prototype.getAll = () => { throw new DOMException("", "UnknownError"); };
    }""")
    if where == "charting":
        device.menu("[data-leave]")
    else:
        sign_out_elsewhere(page)
    expect(page.locator("#leaving")).to_contain_text("cannot be read")
    expect(page.locator("#leaving")).not_to_contain_text("0 entries")
    page.reload()
    expect(page.locator("#leaving")).to_be_hidden()


def test_leaving_in_one_tab_leaves_in_all(device):
    other = device.page.context.new_page()
    other.goto(f"/charting/#{device.session.key}")
    expect(other.get_by_text(PATIENT).filter(visible=True).first).to_be_visible()
    device.menu("[data-leave]")
    device.page.wait_for_url(DOOR)
    way_in = other.locator("[data-banners] a, #id_username").filter(visible=True)
    expect(way_in).to_have_count(1, timeout=30_000)
    assert device.databases() == ["charting-tablet"]
    assert PATIENT not in other.content() + other.evaluate(HELD)


def test_other_pages_ask_as_well(device):
    page = device.page
    device.log()
    device.stored()
    page.route("**/charting/sync/", lambda route: route.abort())
    device.log()
    page.goto("/")
    sign_out_elsewhere(page)
    expect(page.locator("#leaving")).to_contain_text("1 entry is not stored")
    page.unroute("**/charting/sync/")
    page.get_by_role("button", name="Send now").click()
    page.wait_for_url("**/charting/")
    device.stored()
    assert InjectionEntry.objects.filter(session=device.session).count() == 2


def test_a_tablet_signed_out_without_network_shows_nothing_until_the_session_has_ended(
    device, injector, colleague
):
    page = device.page
    device.kept_for_offline()
    device.offline()
    device.log()
    device.menu("[data-leave]")
    page.get_by_role("button", name="Hand over and sign out").click()
    expect(page.locator("[data-departed]")).to_be_visible()
    page.reload()
    expect(page.locator("[data-departed]")).to_be_visible()
    assert PATIENT not in page.content()
    device.offline(False)
    page.wait_for_url(DOOR)
    said = page.locator("[data-left-here]")
    expect(said).to_contain_text(f"1 entry of {injector.full_name} handed over on this tablet")
    assert PATIENT not in page.evaluate(HELD)
    page.goto("/patients/")
    page.wait_for_url("**/staff/sign-in/**")
    page.goto("/staff/sign-in/?next=/charting/")
    sign_in_at_the_door(page, colleague.username)
    page.get_by_role("button", name="Take over and send").click()
    device.stored()
    entry = InjectionEntry.objects.get(session=device.session)
    assert entry.session.injector == injector


def test_when_the_sign_in_has_run_out_it_is_said_and_the_same_session_opens_again(device, injector):
    page = device.page
    device.log()
    device.stored()
    page.context.clear_cookies()
    device.log()
    device.log()
    page.evaluate("() => charting.flush()")
    expect(page.locator("[data-contact]")).to_contain_text("Signed out")
    banner = page.locator("[data-banners]")
    expect(banner).to_contain_text("2 entries")
    banner.get_by_role("link", name="Sign in again").click()
    page.wait_for_url("**/staff/sign-in/**")
    said = page.locator("[data-left-here]")
    expect(said).to_contain_text(f"2 entries of {injector.full_name} on this tablet")
    # What never reached the clinic names no patient; what the clinic has is gone from here.
    assert PATIENT not in page.evaluate(HELD)
    sign_in_at_the_door(page, injector.username)
    page.wait_for_url(f"**/charting/#{device.session.key}")
    device.shown()
    device.stored()
    assert InjectionEntry.objects.filter(session=device.session).count() == 3


def test_the_next_person_sees_how_much_of_whom_waits_and_nothing_of_it(device, injector, colleague):
    page = device.page
    page.context.clear_cookies()
    device.log()
    page.goto("/staff/sign-in/?next=/charting/")
    said = page.locator("[data-left-here]")
    expect(said).to_contain_text(f"1 entry of {injector.full_name} on this tablet")
    sign_in_at_the_door(page, colleague.username)
    page.wait_for_url("**/charting/")
    expect(page.locator("[data-user-name]").first).to_have_text(colleague.full_name)
    page.evaluate("() => charting.flush()")
    expect(page.locator("[data-others]")).to_contain_text(f"1 entry of {injector.full_name}")
    assert PATIENT not in page.content() + page.evaluate(HELD)
    assert not InjectionEntry.objects.exists()
    assert f"charting-{injector.pk}" in device.databases()
    device.menu("[data-leave]")
    page.wait_for_url(DOOR)
    expect(said).to_contain_text(f"1 entry of {injector.full_name} on this tablet")
    sign_in_at_the_door(page, injector.username)
    device.open()
    expect(page.locator("[data-others] .flag")).to_have_count(0)
    device.stored()
    assert InjectionEntry.objects.filter(session=device.session).count() == 1
