"""
Takes the pictures of the README: `make tour`. Not a part of the tests.

The demo clinic is written into a database of its own and the clock is set, so that the pictures
change only with the pages they show.
"""

import re
from datetime import UTC, datetime

import pypdfium2
import pytest
import time_machine
from django.db.models import Count
from playwright.sync_api import Page, expect

from clinic.counts.models import StockCount
from clinic.places.models import Place
from clinic.staff.models import User
from clinic.stock.models import Lot
from planning.vocabulary import Jaw
from records.appointments.models import Appointment
from records.assessments.models import Assessment
from records.demo.seed import seed
from records.patients.models import Patient
from records.plans.models import Plan, PlanSummary
from records.recalls.models import RecallCase
from records.reviews.models import Review
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import start_session
from tests.browser.chart import Chart
from tests.browser.tour_care import (
    before_the_needle,
    blocked_vessel,
    camera,
    results,
    with_the_patient,
)
from tests.browser.tour_pictures import keep, keep_sheet, shoot
from tests.browser.watch import DESK, TABLET, TABLET_UPRIGHT

NOW = datetime(2026, 11, 25, 9, 40, tzinfo=UTC)
# Card of the tray, amount, technique and places of one side of the face, in millimetres; four
# numbers for those with a direction.
POINTS = (
    (0, "0.05", "Bolus", ((48, 30), (56, 24), (40, 38), (24, 22))),
    (0, "0.05", "Linear retrograde", ((22, 42, 32, 62), (16, 58, 26, 74))),
    (1, "0.1", "Bolus", ((46, 60), (42, 70), (34, 82), (24, 92), (10, 100))),
    (1, "0.05", "Fanning", ((50, 48, 36, 50), (12, 84, 22, 82))),
    (
        2, "4", "Micro-droplet",
        ((8, -12), (18, -20), (12, -36), (28, -34), (38, -24), (46, -14), (54, -4)),
    ),
)  # fmt: skip
PLANES = {
    "Bolus": "Supraperiosteal",
    "Linear retrograde": "Subcutaneous",
    "Fanning": "Subcutaneous",
    "Micro-droplet": "Intramuscular",
}
# The tablet's clock goes as the clinic's, or the screen would say that it is off.
CLOCK = """(() => {
    const Real = Date;
    globalThis.Date = class extends Real {
        constructor(...parts) { super(...(parts.length ? parts : [Date.now()])); }
        static now() { return Real.now() + OFF; }
    };
})()"""


@pytest.fixture
def clinic(db):
    with time_machine.travel(NOW, tick=True):
        seed(NOW.date())
        yield


@pytest.mark.django_db(transaction=True)
def test_take_the_pictures(clinic, new_page, page_with_camera, sign_in):
    desk, owner = new_page(viewport=DESK), new_page(viewport=DESK)
    tablet = new_page(viewport=TABLET, has_touch=True)
    off = datetime.now(UTC).timestamp() - time_machine.escape_hatch.time.time()
    tablet.add_init_script(CLOCK.replace("OFF", str(round(off * 1000))))
    for page, name in ((desk, "desk"), (owner, "owner"), (tablet, "injector")):
        sign_in(page, User.objects.get(username=name))
    front_desk(desk)
    session = TreatmentSession.objects.unsigned().get()
    planning(tablet)
    rules_and_results(owner)
    charting(tablet, session)
    map_on_paper(tablet, many_points(tablet))
    signing(tablet, session)
    chart_note(tablet)
    stock(owner)
    the_shelves(owner)
    recall_and_drill(owner)
    before_the_needle(tablet)
    blocked_vessel(tablet, session)
    results(owner)
    camera(page_with_camera, sign_in)
    with_the_patient(tablet)


def front_desk(page: Page) -> None:
    page.goto("/")
    shoot(page, "today")
    treated = TreatmentSession.objects.signed().filter(patient__alerts__isnull=False).latest("pk")
    page.goto(f"/patients/{treated.patient_id}/")
    page.keyboard.press("/")
    page.keyboard.type("mar")
    expect(page.get_by_role("option").first).to_be_visible()
    page.keyboard.press("ArrowDown")
    shoot(page, "patient")
    page.goto("/diary/")
    shoot(page, "diary")
    review = Review.objects.still_open().filter(due_on__gt=NOW.date()).earliest("due_on")
    page.goto(f"/reviews/{review.pk}/book/")
    shoot(page, "booking")
    for address, name in (
        ("/follow-up/", "reviews"),
        ("/reminders/", "messages"),
        ("/waiting-list/", "waiting-list"),
    ):
        page.goto(address)
        shoot(page, name)


def planning(page: Page) -> None:
    """From the assessment to the plan, its summary, the tablet and what was done."""
    assessment = Assessment.objects.latest("pk")
    page.goto(f"/assessments/{assessment.pk}/")
    shoot(page, "assessment")
    plan = Plan.objects.filter(stages__number=2).latest("pk")
    page.goto(f"/plans/{plan.pk}/")
    shoot(page, "plan")
    page.get_by_role("heading", name="Before it is done").evaluate("(h) => h.scrollIntoView()")
    shoot(page, "plan-checks")
    summary = PlanSummary.objects.filter(plan=plan).latest("pk")
    keep_sheet(page.request.get(f"/plans/summaries/{summary.pk}/").body(), "plan-summary")
    Chart(page, TreatmentSession.objects.unsigned().get().key)
    page.click("#tab-plan")
    page.locator("[data-plan]").evaluate("(panel) => panel.scrollIntoView()")
    shoot(page, "plan-on-the-tablet")
    treated = TreatmentSession.objects.signed().filter(plan_stage__isnull=False).latest("pk")
    page.goto(f"/sessions/{treated.pk}/")
    page.get_by_role("heading", name="Plan and done").evaluate("(h) => h.scrollIntoView()")
    shoot(page, "plan-and-done")
    page.goto("/atlas/temple/")
    shoot(page, "atlas")
    page.goto("/dilution/?content=100&diluent=2.5&dose=20&line=10")
    shoot(page, "dilution")
    often = Patient.objects.annotate(count=Count("sessions")).latest("count", "pk")
    page.goto(f"/patients/{often.pk}/")
    page.get_by_role("heading", name="Timeline").evaluate("(h) => h.scrollIntoView()")
    shoot(page, "timeline")
    page.goto(f"/results/for-patient/{often.pk}/")
    shoot(page, "amounts")


def rules_and_results(page: Page) -> None:
    page.goto("/review-rules/")
    shoot(page, "review-rules")
    page.goto("/figures/?period=year")
    shoot(page, "figures")
    page.goto("/results/waste/")
    shoot(page, "waste")


def charting(page: Page, session: TreatmentSession) -> None:
    """The unsigned session of the demo, with the cheeks added from a second syringe."""
    chart = Chart(page, session.key)
    page.click("[data-open-unit]")
    shelf = page.locator(".shelf").filter(has_text="HA filler medium")
    shelf.get_by_role("button", name=re.compile("^Open U")).first.click()
    expect(page.locator("[name=tray-unit]")).to_have_count(2)
    chart.settle("0.15")
    stored = chart.rows.count()
    for x_mm, y_mm in ((46, 32), (56, 40)):
        for side in (1, -1):
            chart.tap(side * x_mm, y_mm)
            stored += 1
            expect(chart.rows).to_have_count(stored)
    chart.is_stored()
    shoot(page, "charting")
    page.emulate_media(color_scheme="dark")
    page.click(".face__layers summary")
    page.click("[data-layer=vessels]")
    page.click("[data-layer=landmarks]")
    page.keyboard.press("Escape")
    shoot(page, "charting-dark")
    page.emulate_media(color_scheme="light")


def many_points(page: Page) -> TreatmentSession:
    """A session of today, in three states: empty, with 40 points, with the last session's too."""
    appointment = next(
        row
        for row in Appointment.objects.on(NOW.date()).filter(practitioner__username="injector")
        if row.patient.sessions.signed().exists() and not row.patient.sessions.unsigned().exists()
    )
    session = start_session(
        patient=appointment.patient, injector=appointment.practitioner, jaw=Jaw.AVERAGE
    )
    page.evaluate("() => localStorage.removeItem('charting-layers')")
    chart = Chart(page, session.key)
    four_ways(page, "charting-empty")
    open_units(chart)
    cards = page.locator("[data-unit-card]")
    stored = 0
    for card, amount, technique, places in POINTS:
        chart.touch(cards.nth(card))
        chart.settle(amount)
        chart.set("technique", technique)
        chart.set("plane", PLANES[technique])
        for place in places:
            for side in (1, -1):
                give(chart, side, *place)
                stored += 1
                expect(chart.rows).to_have_count(stored)
    assert stored == 40
    chart.is_stored()
    four_ways(page, "charting-40-points")
    page.click(".face__layers summary")
    page.click("[data-layer=last]")
    page.click(".face__layers summary")
    four_ways(page, "charting-last-session")
    return session


def give(chart: Chart, side: int, x_mm: float, y_mm: float, *end: float) -> None:
    """A touch, or a drag to where a thread or fan ends."""
    if not end:
        chart.tap(side * x_mm, y_mm)
        return
    mouse = chart.page.mouse
    mouse.move(*chart.at(side * x_mm, y_mm))
    mouse.down()
    mouse.move(*chart.at(side * end[0], end[1]), steps=4)
    mouse.up()


def open_units(chart: Chart) -> None:
    """Two syringes and a vial made up with 2.5 mL."""
    for name in ("HA filler medium", "HA filler firm", "OnabotulinumtoxinA 100 units"):
        chart.touch("[data-open-unit]")
        shelf = chart.page.locator(".shelf").filter(has_text=name)
        chart.touch(shelf.get_by_role("button", name=re.compile("^Open U")).first)
    for digit in "2.5":
        chart.touch(f'[data-sheet=keypad] [data-digit="{digit}"]')
    chart.touch("[data-pad-done]")
    expect(chart.page.locator("[data-unit-card]")).to_have_count(3)


def four_ways(page: Page, name: str) -> None:
    """The tablet lying and upright, in light and in dark."""
    for way, viewport in (("", TABLET), ("-upright", TABLET_UPRIGHT)):
        page.set_viewport_size(viewport)
        for colours in ("light", "dark"):
            page.emulate_media(color_scheme=colours)
            page.evaluate("() => scrollTo(0, 0)")
            shoot(page, f"{name}{way}{'-dark' if colours == 'dark' else ''}")
    page.emulate_media(color_scheme="light")
    page.set_viewport_size(TABLET)


def map_on_paper(page: Page, session: TreatmentSession) -> None:
    """The same map in the note, as a colour printer and a black-and-white one print it."""
    session = TreatmentSession.objects.get(pk=session.pk)
    remainders = {
        row.unit_id: (
            Remainder.KEPT if row.unit.lot.product.is_single_patient else Remainder.SHARED
        )
        for row in session.tray.select_related("unit__lot__product")
    }
    sign_session(session=session, remainders=remainders, actor=session.injector)
    pdf = pypdfium2.PdfDocument(page.request.get(f"/notes/{session.pk}/").body())
    sheet = pdf[0].render(scale=1.25).to_pil()
    keep(sheet, "chart-map")
    keep(sheet.convert("L"), "chart-map-grey")


def signing(page: Page, session: TreatmentSession) -> None:
    page.goto(f"/sessions/{session.pk}/sign/")
    for group in page.get_by_role("group").filter(has_text="left in unit").all():
        group.get_by_label("Kept for the same patient").check()
    shoot(page, "signing")


def chart_note(page: Page) -> None:
    """The first page of a signed note that has an addendum."""
    session = TreatmentSession.objects.filter(addenda__isnull=False).latest("pk")
    keep_sheet(page.request.get(f"/notes/{session.pk}/").body(), "chart-note")


def stock(page: Page) -> None:
    page.goto("/stock/")
    shoot(page, "stock")
    lot = Lot.objects.get(number="LS2502A")
    page.goto(f"/trace/{lot.pk}/")
    page.get_by_text("units received =").evaluate("(line) => line.scrollIntoView()")
    shoot(page, "lot-trace")


def the_shelves(page: Page) -> None:
    """A delivery of two lots by their codes, a count, a fridge, and what to order."""
    page.goto("/receiving/")
    for name, lot in (("soft", "LS2511F"), ("firm", "7901")):
        gtin = {"soft": "09521000010017", "firm": "09521000020009"}[name]
        field = page.get_by_label("Scan a box, one after the other")
        for _ in range(3):
            field.fill(f"01{gtin}1728053110{lot}")
            field.press("Enter")
            expect(field).to_have_value("")
    shoot(page, "receiving")
    page.goto(f"/counts/{StockCount.objects.filter(posted_at__isnull=True).latest('pk').pk}/")
    shoot(page, "count")
    page.goto(f"/fridges/{Place.objects.fridges().earliest('pk').pk}/")
    page.get_by_role("heading", name="Last 30 days").evaluate("(h) => h.scrollIntoView()")
    shoot(page, "fridge")
    page.goto("/reorder/")
    shoot(page, "reorder")


def recall_and_drill(page: Page) -> None:
    case = RecallCase.objects.real().latest("pk")
    page.goto(f"/recalls/{case.pk}/")
    shoot(page, "recall")
    page.goto(f"/recalls/{case.pk}/people/")
    shoot(page, "call-list")
    drill = RecallCase.objects.filter(is_drill=True).latest("pk")
    page.goto(f"/recalls/{drill.pk}/")
    shoot(page, "drill")
    keep_sheet(page.request.get(f"/recalls/{drill.pk}/report/").body(), "drill-report")
    page.goto("/usage/events/")
    page.get_by_role("heading", name="Which lots stand out").evaluate("(h) => h.scrollIntoView()")
    shoot(page, "funnel")
