"""Every role's main path with the keyboard alone, and where the focus goes meanwhile."""

import re
from datetime import UTC, datetime

import pytest
import time_machine
from playwright.sync_api import Page, expect

from clinic.access.enums import Role
from records.appointments.models import Appointment
from records.sessions.models import InjectionEntry, TreatmentSession
from tests.browser.chart import NOTHING_WAITS, SETTINGS
from tests.browser.every_page import open_whole
from tests.factories import (
    PASSWORD,
    consented,
    make_patient,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
)
from tests.samples import make_people, make_samples

pytestmark = pytest.mark.django_db(transaction=True)

MOST_TABS = 80


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until the focus is on what the selector names."""
    for _ in range(MOST_TABS):
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{selector} is not reached by {MOST_TABS} tabs on {page.url}")


def press_on(page: Page, selector: str, key: str = "Enter") -> None:
    tab_to(page, selector)
    page.keyboard.press(key)


def choose(page: Page, selector: str, label: str) -> None:
    """In a list of choices, by the first letters."""
    tab_to(page, selector)
    page.keyboard.type(label)
    expect(page.locator(f"{selector} option:checked")).to_have_text(re.compile(f"^{label}"))


def choose_radio(page: Page, label: str) -> None:
    """In a sheet of options, with the arrows."""
    sheet = page.locator("[data-sheet=choices]")
    expect(sheet).to_be_visible()
    options = sheet.get_by_role("radio")
    for _ in range(options.count()):
        if page.evaluate("() => document.activeElement.textContent.trim()") == label:
            break
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(sheet).to_be_hidden()


@time_machine.travel(datetime(2026, 11, 2, 9, tzinfo=UTC))
def test_front_desk_finds_a_patient_and_books(page, sign_in, desk, injector):
    patient = make_patient(desk, "Mary Adams")
    make_patient(desk, "Mary Baker")
    sign_in(page, desk)
    page.goto("/")
    page.keyboard.press("/")
    page.keyboard.type("mar ada")
    expect(page.get_by_role("option")).to_have_count(1)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/patients/{patient.pk}/")
    press_on(page, "main a[href^='/appointments/new/']")
    page.wait_for_url("**/appointments/new/**")
    choose(page, "#id_practitioner", "Ida")
    tab_to(page, "[name=kind]")
    page.keyboard.press("ArrowDown")
    tab_to(page, "#times-that-fit [name=slot]:checked")
    page.keyboard.press("ArrowUp")  # round to the last choice, another time
    tab_to(page, "#id_day")
    page.keyboard.type("11112026")  # the same whether day or month comes first
    tab_to(page, "#id_start")
    page.keyboard.type("1430")
    page.keyboard.press("Enter")
    expect(
        page.get_by_role("status").filter(has_text="is booked for Wednesday 11 Nov")
    ).to_be_visible()
    booked = Appointment.objects.get()
    assert (booked.patient, booked.kind) == (patient, "treatment")


def test_injector_charts_and_signs(page, sign_in, injector):
    unit = make_units(injector, make_product())[0]
    session = make_session_with_unit(injector, consented(injector, make_patient(injector)), unit)
    sign_in(page, injector)
    open_whole(page, f"/charting/#{session.key}")
    tab_to(page, "[data-setting=amount]")
    page.keyboard.type("0.3")
    page.keyboard.press("Enter")
    expect(page.locator("[data-setting=amount]")).to_be_focused()
    for name, label in SETTINGS.items():
        press_on(page, f"[data-setting={name}]")
        choose_radio(page, label)
    tab_to(page, "#tab-points")
    page.keyboard.press("ArrowRight")
    press_on(page, '[data-add-region="temple"][data-add-side="left"]')
    said = page.locator("[data-said]")
    expect(said).to_contain_text("Point 1: Temporal region, left, 0.3 mL. Stored on this tablet.")
    stored = page.locator("[data-stored]").get_by_text("All stored in the clinic")
    assert page.evaluate(NOTHING_WAITS)
    expect(stored).to_be_visible()
    was = InjectionEntry.objects.get()
    page.locator("#tab-regions").focus()
    page.keyboard.press("ArrowLeft")
    press_on(page, "[data-choose]")
    page.keyboard.press("ArrowRight")
    expect(said).to_contain_text("Moved.")
    assert page.evaluate(NOTHING_WAITS)
    expect(stored).to_be_visible()
    assert InjectionEntry.objects.get().x_dmm == was.x_dmm + 5
    # What comes before the table is reached backwards, as people do.
    page.locator("[data-sign]").focus()
    page.keyboard.press("Enter")
    press_on(page, "[data-sheet=signing] a[href$='/sign/']")
    page.wait_for_url("**/sign/")
    press_on(page, f"[name=unit_{unit.pk}]", "Space")
    tab_to(page, "#id_password")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Signed. The session is locked.")).to_be_visible()
    assert TreatmentSession.objects.get().is_signed


def test_the_focus_goes_with_the_day_and_the_session(page, sign_in, injector):
    session = make_session(injector, consented(injector, make_patient(injector)))
    sign_in(page, injector)
    open_whole(page, "/charting/")
    press_on(page, f'[data-session-link="{session.key}"]')
    expect(page.locator("#content")).to_be_focused()
    press_on(page, "[data-to-day]")
    expect(page.locator("#content")).to_be_focused()


def test_owner_receives_a_lot_and_traces_it(page, sign_in, owner):
    make_product("HA filler 1 mL")
    sign_in(page, owner)
    page.goto("/receiving/")
    choose(page, "#id_line-0-product", "HA filler")
    tab_to(page, "#id_line-0-number")
    page.keyboard.type("KEY1")
    tab_to(page, "#id_line-0-expires_on")
    page.keyboard.type("06062030")
    tab_to(page, "#id_line-0-quantity")
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    tab_to(page, "#id_line-0-is_compared")
    page.keyboard.press("Space")
    press_on(page, "button[value=receive]")
    expect(page.get_by_role("heading", name="lot KEY1")).to_be_visible()
    press_on(page, "h2 a[href^='/stock/lots/']")
    page.wait_for_url("**/stock/lots/*/")
    press_on(page, "a[href^='/trace/']:not(.nav a)")
    expect(page.get_by_text("2 units received = 2 on hand")).to_be_visible()


def test_skip_link_is_first_seen_and_leads_to_the_page(page, sign_in, desk):
    sign_in(page, desk)
    page.goto("/diary/")
    page.keyboard.press("Tab")
    link = page.get_by_role("link", name="Skip to the page")
    expect(link).to_be_focused()
    expect(link).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("#content")).to_be_focused()


def test_dialogs_close_with_escape_and_give_the_focus_back(page, sign_in, injector, owner):
    unit = make_units(injector, make_product())[0]
    session = make_session_with_unit(injector, consented(injector, make_patient(injector)), unit)
    sign_in(page, injector)
    open_whole(page, f"/charting/#{session.key}")
    closes_with_escape(page, "[data-open-unit]")
    sign_in(page, owner)
    page.goto(f"/stock/lots/{unit.lot_id}/")
    closes_with_escape(page, "[data-dialog-open=quarantine]")


def closes_with_escape(page: Page, opener: str) -> None:
    dialog = page.get_by_role("dialog")
    press_on(page, opener)
    expect(dialog).to_be_visible()
    assert page.evaluate("() => !!document.activeElement.closest('dialog[open]')")
    page.keyboard.press("Escape")
    expect(dialog).to_have_count(0)
    expect(page.locator(opener)).to_be_focused()


@pytest.mark.parametrize("role", list(Role))
def test_focus_is_seen_wherever_it_goes(role, new_page, sign_in):
    """Around what has the focus, the screen looks different from when it has not."""
    people = make_people()
    samples = make_samples(people)
    clinical = f"/charting/#{samples['session'].key}"
    urls = {
        Role.FRONT_DESK: f"/patients/{samples['patient'].pk}/",
        Role.INJECTOR: clinical,
        Role.OWNER: f"/stock/lots/{samples['lot'].pk}/",
    }
    page = new_page(reduced_motion="reduce")
    sign_in(page, people[role])
    open_whole(page, urls[role])
    unseen = []
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        place = page.evaluate(FOCUSED)
        if place is None:
            break
        if not looks_focused(page, place["clip"]):
            unseen.append(place["html"])
    assert not unseen, "\n".join(unseen)


# A field that is hidden within its label is looked for around the label.
FOCUSED = """() => {
  const one = document.activeElement;
  if (one === document.body || one.dataset.wasFocused) return null;
  one.dataset.wasFocused = "yes";
  const shown = one.labels?.length && one.getBoundingClientRect().width < 24 ? one.labels[0] : one;
  const box = shown.getBoundingClientRect();
  const [x, y] = [Math.max(0, box.x - 6), Math.max(0, box.y - 6)];
  return {
    html: one.outerHTML.slice(0, 120),
    clip: {x, y, width: box.right + 6 - x, height: Math.min(box.bottom + 6, innerHeight) - y},
  };
}"""


def looks_focused(page: Page, clip: dict) -> bool:
    page.evaluate("() => { window.held = document.activeElement; }")
    picture = page.screenshot(clip=clip, animations="disabled", caret="hide")
    page.evaluate("() => window.held.blur()")
    without = page.screenshot(clip=clip, animations="disabled", caret="hide")
    page.evaluate("() => window.held.focus({focusVisible: true, preventScroll: true})")
    return picture != without
