"""A tablet that is left alone shows nothing, and loses nothing."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from clinic.policy.models import ClinicPolicy
from clinic.policy.services import save_policy
from records.sessions.models import InjectionEntry
from tests.browser.charting.device import CODE, PATIENT, Device, make_sitting
from tests.browser.watch import TABLET
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)

WALL = "(ms) => { const real = Date.now; Date.now = () => real.call(Date) + ms; }"
OWN = """(ms) => {
    const real = performance.now.bind(performance);
    performance.now = () => real() + ms;
}"""
MINUTE = 60_000
WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}


@pytest.fixture
def sitting(injector):
    return make_sitting(injector)


@pytest.fixture
def device(new_page, sign_in, injector, sitting) -> Device:
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, injector)
    device = Device(page, sitting)
    device.open()
    return device


@pytest.fixture
def coded(device) -> Device:
    device.set_code()
    return device


def told(page: Page) -> str:
    """All that stands in the page, for eyes, for screen readers and in its source."""
    return page.title() + page.content() + page.locator("body").aria_snapshot()


def violations(page: Page) -> list[str]:
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        answer = Axe().run(page, options={"resultTypes": ["violations"], "runOnly": WCAG}).response
        found += [f"{scheme} {each['id']}: {each['nodes']}" for each in answer["violations"]]
    return found


def test_the_cover_holds_nothing_of_the_patient_and_the_work_comes_back_whole(coded):
    page = coded.page
    coded.offline()
    coded.log()
    page.click("[data-row] button >> nth=0")
    page.click("#tab-note")
    page.fill("[data-note] textarea", "Half a sen")
    chosen = page.locator("[data-row].is-chosen").count()
    coded.lock()
    text = told(page)
    assert PATIENT not in text
    assert "Half a sen" not in text
    assert str(coded.session.patient.record_number) not in text
    expect(page.locator("[data-lock-waiting]")).to_contain_text("on this tablet")
    coded.unlock()
    coded.opened()
    expect(page.locator("[data-note] textarea")).to_have_value("Half a sen")
    page.click("#tab-points")
    expect(page.locator("[data-row]")).to_have_count(1)
    assert page.locator("[data-row].is-chosen").count() == chosen
    assert page.evaluate("() => charting.waiting.length") >= 1


@pytest.mark.parametrize(
    ("clocks", "locks"),
    [
        ([(WALL, 3 * MINUTE)], True),
        ([(OWN, 3 * MINUTE)], True),
        ([(WALL, -1440 * MINUTE), (OWN, 3 * MINUTE)], True),
        ([(WALL, -1440 * MINUTE)], True),
        ([(WALL, MINUTE), (OWN, MINUTE)], False),
    ],
    ids=["wall clock", "own clock", "set back and waited", "set back", "not yet"],
)
def test_it_locks_by_whichever_clock_has_gone_further(device, owner, clocks, locks):
    save_policy(policy=ClinicPolicy(tablet_lock_minutes=2), actor=owner)
    device.page.reload()
    device.shown()
    device.page.wait_for_function("() => charting.day?.lock_minutes === 2")
    device.page.mouse.move(5, 5)
    for script, by in clocks:
        device.page.evaluate(script, by)
    # What scripts do, and answers of the server, are no touch.
    device.page.evaluate("() => document.body.dispatchEvent(new PointerEvent('pointerdown'))")
    device.page.evaluate("() => charting.flush()")
    if locks:
        device.locked()
    else:
        device.page.evaluate("() => window.dispatchEvent(new Event('focus'))")
        expect(device.page.locator("[data-lock]")).to_be_hidden()


def test_what_waits_goes_on_being_sent_while_it_is_locked(coded):
    coded.offline()
    coded.log()
    coded.lock()
    expect(coded.page.locator("[data-lock-waiting]")).to_contain_text("1 entry waits")
    coded.offline(False)
    words = coded.page.locator("[data-lock-waiting]")
    expect(words).to_have_text("Everything is stored in the clinic.", timeout=40_000)
    assert InjectionEntry.objects.filter(session=coded.session).count() == 1
    assert PATIENT not in told(coded.page)


def test_the_cover_says_that_a_decision_waits_and_does_not_promise_a_sending(coded):
    coded.log(amount=5000)
    coded.page.wait_for_function("() => charting.waiting[0]?.state === 'refused'")
    coded.lock()
    words = coded.page.locator("[data-lock-waiting]")
    expect(words).to_have_text("1 entry waits on this tablet. A decision is asked for about 1.")


def test_the_lock_holds_over_a_reload_on_other_pages_and_in_other_tabs(coded):
    page = coded.page
    other = page.context.new_page()
    other.goto(f"/charting/#{coded.session.key}")
    expect(other.get_by_text(PATIENT).filter(visible=True).first).to_be_visible()
    coded.lock()
    expect(other.locator("[data-lock]")).to_be_visible()
    assert PATIENT not in told(other)
    page.reload()
    coded.locked()
    assert PATIENT not in told(page)
    page.goto(f"/patients/{coded.session.patient.pk}/")
    page.wait_for_url("**/charting/")
    coded.locked()
    page.goto(f"/charting/#{coded.session.key}")
    coded.locked()
    coded.unlock()
    coded.opened()
    expect(other.locator("[data-lock]")).to_be_hidden()
    expect(other.get_by_text(PATIENT).filter(visible=True).first).to_be_visible()


def test_no_key_reaches_the_screen_behind(coded):
    coded.log()
    coded.page.click("[data-row] button >> nth=0")
    before = coded.page.evaluate("(key) => charting.session(key).points", str(coded.session.key))
    coded.lock()
    for key in ("ArrowLeft", "Delete", "u", "m", "Escape", "Escape"):
        coded.page.keyboard.press(key)
    expect(coded.page.locator("[data-lock]")).to_be_visible()
    coded.unlock()
    coded.opened()
    after = coded.page.evaluate("(key) => charting.session(key).points", str(coded.session.key))
    places = [[row["x_dmm"], row["y_dmm"], row["removed"]] for row in before]
    assert [[row["x_dmm"], row["y_dmm"], row["removed"]] for row in after] == places


def test_a_sheet_that_was_open_is_open_again(coded):
    coded.page.click("[data-setting=plane]")
    sheet = coded.page.locator("dialog[data-sheet=choices]")
    expect(sheet).to_be_visible()
    coded.page.evaluate("() => document.querySelector('[data-lock-now]').click()")
    coded.locked()
    coded.unlock()
    expect(coded.page.locator("[data-lock]")).to_be_hidden()
    expect(sheet).to_be_visible()
    coded.page.keyboard.press("Escape")
    expect(sheet).to_be_hidden()


def test_the_pad_unlocks_by_touch(coded):
    coded.lock()
    for digit in CODE:
        coded.page.tap(f"[data-lock-key='{digit}']")
    coded.page.get_by_role("button", name="Unlock", exact=True).tap()
    coded.opened()


def test_after_five_wrong_codes_only_the_password_opens(coded):
    page = coded.page
    coded.lock()
    for left in ("4 tries are", "3 tries are", "2 tries are", "One try is"):
        coded.unlock("1357")
        expect(page.locator("[data-lock-problem]")).to_contain_text(f"{left} left")
    coded.unlock("1357")
    expect(page.locator("[data-lock-problem]")).to_contain_text("Only your password")
    expect(page.locator("[data-lock-code]")).to_be_hidden()
    page.reload()
    coded.locked()
    expect(page.locator("[data-lock-code]")).to_be_hidden()
    coded.offline()
    page.fill("#lock-password", PASSWORD)
    page.keyboard.press("Enter")
    expect(page.locator("[data-lock-problem]")).to_contain_text("cannot be reached")
    coded.offline(False)
    page.fill("#lock-password", "wrong")
    page.keyboard.press("Enter")
    expect(page.locator("[data-lock-problem]")).to_contain_text("not your password")
    page.fill("#lock-password", PASSWORD)
    page.keyboard.press("Enter")
    coded.opened()
    coded.lock()
    coded.unlock()
    coded.opened()


def test_a_new_sign_in_opens_it(device, injector):
    device.page.wait_for_function("() => localStorage.getItem('charting-session')")
    device.lock()
    device.page.context.clear_cookies()
    device.page.fill("#lock-password", PASSWORD)
    device.page.keyboard.press("Enter")
    expect(device.page.locator("[data-lock-problem]")).to_contain_text("You are signed out")
    device.page.get_by_role("link", name="Sign in").click()
    device.page.fill("#id_username", injector.username)
    device.page.fill("#id_password", PASSWORD)
    device.page.get_by_role("button", name="Sign in").click()
    device.page.wait_for_url(f"**/charting/#{device.session.key}")
    device.opened()


def test_axe_finds_nothing_on_the_cover_and_the_sheets(coded):
    found = []
    coded.menu("[data-unlock-code]")
    found += violations(coded.page)
    coded.page.keyboard.press("Escape")
    coded.lock()
    coded.page.keyboard.type("12")
    found += violations(coded.page)
    coded.page.get_by_role("button", name="Use the password").click()
    found += violations(coded.page)
    coded.page.get_by_role("button", name="Use the code").click()
    coded.unlock()
    coded.opened()
    coded.offline()
    coded.log()
    coded.menu("[data-leave]")
    expect(coded.page.locator("#leaving")).to_be_visible()
    found += violations(coded.page)
    assert found == []
