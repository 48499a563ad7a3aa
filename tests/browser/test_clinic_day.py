"""
One day of a clinic through its real pages, from an unknown patient to a traced lot.

The day is Friday 11 December 2026. All numbers below were worked out by hand:

    unit A: 1 mL = 0.2 + 0.2 + 0.15 + 0.15 + 0.1 + 0.1 drawn + 0.1 wasted at signing
    unit B: 1 mL = 0.1 + 0.1 + 0.05 + 0.05 + 0.25 + 0.2 drawn + 0.05 waste + 0.2 kept
    review: 14 days later is 25 December; the clinic is closed from 24 December to 1 January, and
            2 and 3 January 2027 are a weekend, so it is due on Monday 4 January 2027
"""

import re
from datetime import UTC, date, datetime

import pypdfium2
import pytest
import time_machine
from django.core.management import call_command
from playwright.sync_api import Page, expect

from clinic.quarantine.services import quarantine_lot
from records.patients.models import Patient
from tests.browser.chart import PATIENCE_MS, Chart
from tests.browser.watch import DESK, KEPT, TABLET
from tests.factories import (
    PASSWORD,
    consented,
    make_closure,
    make_patient,
    make_product,
    make_units,
    make_user,
)

DAY = datetime(2026, 12, 11, 9, 0, tzinfo=UTC)
REVIEW_DAY = datetime(2027, 1, 4, 9, 0, tzinfo=UTC)
GTIN = "09521000010017"  # from the range that GS1 keeps for examples
RECALL = "Maker's letter: cracked barrels"
NAME, RECORD = "Anne Example", "P000002"

# Where, on which side views agree: x in millimetres to the patient's left, y below the eyes.
FROM_A = [(50, 33, "0.2"), (62, 34, "0.15"), (8, 56, "0.1")]
FROM_B = [(12, 74, "0.1"), (27, 28, "0.05"), (8, 100, "0.25")]


@pytest.fixture
def clock():
    with time_machine.travel(DAY, tick=True) as traveller:
        yield traveller


@pytest.fixture
def people(db, clock):
    return {name: make_user(name) for name in ("desk", "injector", "owner")}


@pytest.fixture
def clinic(people):
    """What was there before: one patient, a closure, a lot that expired, one in quarantine."""
    make_patient(people["desk"], "Ann Example", phone="07700 900123")
    make_closure(people["owner"], starts_on=date(2026, 12, 24), ends_on=date(2027, 1, 1))
    old = make_product("Older filler 1 mL")
    expired = make_units(
        people["owner"], old, number="OLD1", quantity=1, expires_on=date(2026, 12, 10)
    )
    held = make_units(people["owner"], old, number="HELD1", quantity=1)
    quarantine_lot(lot=held[0].lot, reason=RECALL, actor=people["owner"])
    return {"expired": expired[0], "held": held[0]}


@pytest.mark.main_path
@pytest.mark.django_db(transaction=True)
def test_the_day_of_a_clinic(clinic, people, clock, new_page, sign_in):
    at_desk = new_page(viewport=DESK)
    in_office = new_page(viewport=DESK)
    at_chair = new_page(viewport=TABLET, has_touch=True, **KEPT)
    for page, name in ((at_desk, "desk"), (in_office, "owner"), (at_chair, "injector")):
        sign_in(page, people[name])

    find_the_other_one(at_desk)
    register(at_desk)
    book(at_desk)
    enter_product(in_office)
    receive_lot(in_office)

    consented(people["injector"], Patient.objects.get(record_number=RECORD))
    chart = start_session(at_chair)
    refuse(chart, clinic)
    labels = open_two_syringes(chart)
    log_twelve_points(chart, labels)
    correct(chart, labels)
    check_totals(chart, labels)
    sign(chart, labels)
    add_addendum(at_chair)
    check_note(at_chair, labels)

    clock.move_to(REVIEW_DAY)  # the sessions of the browsers have ended by now
    sign_in(at_desk, people["desk"])
    sign_in(in_office, people["owner"])
    see_review_due(at_desk)
    trace(in_office, labels)
    verify(in_office)


def find_the_other_one(page: Page) -> None:
    """Someone of nearly this name is on record; the date of birth says that it is another one."""
    page.goto("/")
    page.keyboard.press("/")
    page.keyboard.type("exam an")
    hits = page.get_by_role("listbox", name="Found").get_by_role("option")
    expect(hits).to_have_count(1)
    expect(hits).to_contain_text("Ann Example")
    expect(hits).to_contain_text("17 May 1980")


def register(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Register patient").click()
    person = page.get_by_role("group", name="Person")
    person.get_by_label("Name", exact=True).fill(NAME)
    person.get_by_label("Date of birth").fill("17.05.1980")
    page.get_by_role("textbox", name="Phone").fill("07700 900456")
    page.get_by_label("No known allergies").check()
    page.get_by_role("button", name="Register", exact=True).click()
    warning = page.get_by_role("alert").filter(has_text="may be a patient who is on record")
    expect(warning).to_contain_text("Ann Example")
    page.get_by_role("button", name="This is another person").click()
    expect(page.get_by_text(f"Registered as {RECORD}.")).to_be_visible()
    expect(page.get_by_label("Patient", exact=True)).to_contain_text(NAME)


def book(page: Page) -> None:
    page.get_by_role("link", name="Book appointment").click()
    page.get_by_label("Practitioner").select_option(label="Ida Injector")
    page.get_by_label("Treatment").check()
    page.get_by_label("Another time").check()
    page.get_by_label("Day", exact=True).fill("2026-12-11")
    page.get_by_label("Start").fill("10:00")
    page.get_by_role("button", name="Book", exact=True).click()
    when = "Friday 11 December 2026 at 10:00"
    expect(page.get_by_text(f"({RECORD}) is booked for {when} with Ida Injector.")).to_be_visible()
    page.goto("/")
    row = page.get_by_role("row").filter(has_text=RECORD)
    row.get_by_role("button", name="Arrived").click()
    expect(page.get_by_role("row").filter(has_text=RECORD)).to_contain_text("Arrived")


def enter_product(page: Page) -> None:
    page.goto("/products/")
    page.get_by_role("link", name="Add a product").click()
    page.get_by_label("Name", exact=True).fill("HA filler soft, 1 mL")
    page.get_by_label("Maker").fill("Example Maker")
    page.get_by_label("Kind").select_option(label="Hyaluronic acid filler")
    page.get_by_label("Content of one unit").fill("1")
    page.get_by_label("Lidocaine").fill("0.3 %")
    page.get_by_label("GTIN").fill(GTIN)
    page.get_by_role("button", name="Save product").click()
    expect(page.get_by_role("row").filter(has_text="HA filler soft, 1 mL")).to_contain_text("1 mL")


def receive_lot(page: Page) -> None:
    page.goto("/stock/")
    page.get_by_role("link", name="Receive a delivery").first.click()
    page.get_by_label("Product").select_option(label="HA filler soft, 1 mL")
    page.get_by_label("Lot number").fill("AB12")
    page.get_by_label("Expiry date").fill("2027-06-30")
    page.get_by_label("Quantity").fill("2")
    page.get_by_role("button", name="Receive", exact=True).click()
    page.get_by_label("Compared with the box").check()
    page.get_by_role("button", name="Receive all 2 units").click()
    expect(page.get_by_role("heading", name="lot AB12")).to_be_visible()
    expect(page.get_by_role("list", name="Labels").get_by_role("listitem")).to_have_count(2)


def start_session(page: Page) -> Chart:
    """From the list of today, as the injector finds it."""
    page.goto("/")
    row = page.get_by_role("row").filter(has_text=RECORD)
    row.get_by_role("link", name="Start session").click()
    page.get_by_role("button", name="Start the session").click(timeout=PATIENCE_MS)
    page.wait_for_url(re.compile(r"/charting/#[0-9a-f-]{36}$"))
    expect(page.get_by_role("heading", name=NAME)).to_be_visible(timeout=PATIENCE_MS)
    return Chart(page, page.url.partition("#")[2])


def refuse(chart: Chart, clinic) -> None:
    """An expired and a quarantined unit: shown with the reason, and refused by their labels too."""
    dialog = chart.page.get_by_role("dialog")
    for unit, reason in ((clinic["expired"], "expired"), (clinic["held"], RECALL)):
        chart.page.click("[data-open-unit]")
        shown = dialog.get_by_role("listitem").filter(has_text=unit.lot.number)
        expect(shown).to_contain_text(re.compile(reason, re.IGNORECASE))
        expect(shown.get_by_role("button", name=f"Open {unit.label}")).to_have_count(0)
        field = dialog.get_by_label("Scan the box, or type its label")
        field.fill(unit.label)
        field.press("Enter")
        said = dialog.locator("[data-found-flag=stop]").filter(has_text=unit.lot.number)
        expect(said).to_contain_text(re.compile(reason, re.IGNORECASE))
        chart.page.keyboard.press("Escape")
        expect(dialog).to_have_count(0)
    expect(chart.page.locator("[data-unit]")).to_have_count(0)


def open_two_syringes(chart: Chart) -> list[str]:
    labels = []
    for number in (1, 2):
        chart.page.click("[data-open-unit]")
        shelf = chart.page.get_by_role("dialog").get_by_role("listitem").filter(has_text="AB12")
        button = shelf.get_by_role("button", name=re.compile("^Open U"))
        labels.append(button.inner_text().split()[-1])
        button.click()
        expect(chart.page.locator("[data-unit]")).to_have_count(number)
    return labels


def choose(chart: Chart, label: str) -> None:
    chart.page.locator(".unit").filter(has_text=label).locator(".unit__product").tap()
    card = chart.page.locator(".unit").filter(has_text=label)
    expect(card.locator("[data-unit]")).to_be_checked()


def log_twelve_points(chart: Chart, labels: list[str]) -> None:
    """Six from each syringe, each on both sides; one more than is left in between is refused."""
    choose(chart, labels[0])
    chart.settle("0.2")
    for number, (x_mm, y_mm, amount) in enumerate(FROM_A):
        log_on_both_sides(chart, 2 * number + 1, x_mm, y_mm, amount)
    chart.type_amount("0.2")
    chart.tap(30, 95)
    expect(chart.waiting).to_contain_text(f"0.1 mL remain in unit {labels[0]}")
    chart.touch(chart.waiting.locator("[data-settle=drop]"))
    expect(chart.waiting).to_have_count(0)
    choose(chart, labels[1])
    for number, (x_mm, y_mm, amount) in enumerate(FROM_B):
        log_on_both_sides(chart, 2 * number + 7, x_mm, y_mm, amount)
    expect(chart.rows).to_have_count(12)


def log_on_both_sides(chart: Chart, number: int, x_mm: float, y_mm: float, amount: str) -> None:
    chart.type_amount(amount)
    chart.tap(x_mm, y_mm)
    chart.says(f"Point {number}: ")
    chart.says(f", left, {amount} mL. Stored on this tablet.")
    chart.tap(-x_mm, y_mm)
    chart.says(f"Point {number + 1}: ")
    chart.says(f", right, {amount} mL. Stored on this tablet.")


def correct(chart: Chart, labels: list[str]) -> None:
    """One point moved, one edited, one too many removed, a drop of waste written down."""
    page = chart.page
    page.get_by_role("button", name="Point 12: choose").tap()
    page.get_by_role("button", name="Down").tap()
    chart.says("Moved.")
    page.get_by_role("button", name="0.2", exact=True).tap()
    chart.says("Point 12: Mental region, right, 0.2 mL. Changed.")
    page.get_by_role("button", name="Done", exact=True).tap()
    chart.type_amount("0.05")
    chart.tap(30, -40)
    chart.says("Point 13: ")
    page.get_by_role("button", name="Point 13: choose").tap()
    page.get_by_role("button", name="Remove this point").tap()
    expect(chart.rows).to_have_count(12)
    page.get_by_label(f"More for unit {labels[1]}").tap()
    page.get_by_role("button", name="Record waste").tap()
    dialog = page.get_by_role("dialog", name="Record waste")
    for digit in "0.05":
        dialog.locator(f'[data-digit="{digit}"]').tap()
    dialog.get_by_label("Another reason").fill("Drop from priming the needle")
    dialog.get_by_role("button", name="Record the waste").tap()
    chart.says("0.05 mL from unit")


def check_totals(chart: Chart, labels: list[str]) -> None:
    for label, drawn, waste, left in (
        (labels[0], "0.9", "0", "0.1 mL"),
        (labels[1], "0.75", "0.05", "0.2 mL"),
    ):
        card = chart.page.locator(".unit").filter(has_text=label)
        expect(card).to_contain_text(f"{left} left")
        for part in ("of 1", f"drawn {drawn}", f"waste {waste}"):
            expect(card).to_contain_text(part)
    totals = chart.page.get_by_label("Running totals")
    expect(totals).to_contain_text("1.65 mL 12 points")
    for region, right, left in (
        ("Zygomatic region", "0.35", "0.35"),
        ("Upper lip", "0.1", "0.1"),
        ("Lower lip", "0.1", "0.1"),
        ("Infraorbital region", "0.05", "0.05"),
        ("Mental region", "0.2", "0.25"),
    ):
        row = totals.get_by_role("listitem").filter(has_text=region)
        expect(row).to_contain_text(re.compile(rf"R\s{right}\smL\s*L\s{left}\smL"))


def sign(chart: Chart, labels: list[str]) -> None:
    page = chart.page
    chart.is_stored()
    page.get_by_role("button", name="Sign", exact=True).tap()
    page.get_by_role("link", name="Sign with the password").tap()
    page.get_by_role("group", name=labels[0]).get_by_label("Wasted").check()
    page.get_by_role("group", name=labels[1]).get_by_label("Kept for the same patient").check()
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Sign as Ida Injector").tap()
    expect(page.get_by_text("Signed. The session is locked.")).to_be_visible()
    left = page.locator(".leftovers")
    expect(left).to_contain_text(re.compile(rf"{labels[0]}.*Wasted: 0\.1\smL"))
    expect(left).to_contain_text(re.compile(rf"{labels[1]}.*Kept for the same patient: 0\.2\smL"))


def add_addendum(page: Page) -> None:
    page.locator("summary").filter(has_text="Add to the note").tap()
    page.get_by_label("Why").fill("Left out of the note")
    page.get_by_label("What is added").fill("Written advice was given.")
    page.get_by_role("button", name="Add to the note").tap()
    expect(page.locator("#addenda article")).to_contain_text("Written advice was given.")


def check_note(page: Page, labels: list[str]) -> None:
    link = page.get_by_role("link", name="Chart note (PDF)").get_attribute("href")
    answer = page.request.get(link)
    assert answer.headers["content-type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.body())
    text = "\n".join(sheet.get_textpage().get_text_bounded() for sheet in document)
    words = " ".join(text.split())
    for expected in (
        NAME, RECORD, "Ida Injector", *labels, "AB12", "2027-06-30", "Zygomatic region",
        "Mental region", "0.35 mL", "Wasted: 0.1 mL", "Kept for the same patient: 0.2 mL",
        "Monday 4 January 2027", "Written advice was given.", "Left out of the note",
        f"of {len(document)}",
    ):  # fmt: skip
        assert expected in words, f"{expected!r} is not on the note"


def see_review_due(page: Page) -> None:
    page.goto("/follow-up/")
    row = page.get_by_role("row").filter(has_text=RECORD)
    expect(row).to_contain_text("Mon 4 Jan 2027")
    expect(row.locator(".badge")).to_have_text("Due")


def trace(page: Page, labels: list[str]) -> None:
    page.goto("/trace/")
    page.get_by_label("Lot number").fill("AB12")
    page.get_by_role("button", name="Trace", exact=True).click()
    points = page.get_by_role("table", name="Every point of lot AB12 by patient")
    expect(page.get_by_role("link", name=NAME)).to_have_count(1)
    expect(points).to_contain_text(RECORD)
    for label in labels:
        expect(points.locator("tr").filter(has_text=label)).to_have_count(6)
    expect(
        page.get_by_text(re.compile(r"2 units received = 0 on hand \+ 2 opened"))
    ).to_be_visible()
    expect(page.locator(".tile").filter(has_text="Given")).to_contain_text("1.65 mL")


def verify(page: Page) -> None:
    page.goto("/audit/verify/")
    expect(page.get_by_role("status").filter(has_text="Intact")).to_be_visible()
    call_command("verify_audit")
    call_command("verify_ledger")
