"""The pictures of what is done before and after a treatment, and when a vessel may be blocked."""

from PIL import Image
from playwright.sync_api import Page, expect

from clinic.staff.models import User
from records.aftercare.models import AftercareSheet
from records.comparisons.models import PhotographMark
from records.occlusions.models import Occlusion
from records.patients.models import Patient
from records.photographs.models import Photograph
from records.sessions.models import TreatmentSession
from records.whole_record.models import WholeRecord
from records.whole_record.services import ask_for, make
from tests.browser.chart import Chart
from tests.browser.test_consents import sign
from tests.browser.tour_pictures import keep_sheet, shoot
from tests.browser.watch import TABLET, TABLET_UPRIGHT

# Patients of the demo whom something stops today.
WITH_A_STOP, WITHOUT_CONSENT, COOLING_OFF = "Yvonne", "Ottoline", "Joaquim"


def _patient(first_name: str) -> Patient:
    return Patient.objects.get(full_name__startswith=first_name)


def before_the_needle(page: Page) -> None:
    """What stops a start, and a consent with its signature."""
    page.goto(f"/sessions/start/{_patient(WITH_A_STOP).pk}/")
    shoot(page, "stop")
    page.goto(f"/sessions/start/{_patient(COOLING_OFF).pk}/")
    shoot(page, "cooling-off")
    page.set_viewport_size(TABLET_UPRIGHT)
    page.goto(f"/patients/{_patient(WITHOUT_CONSENT).pk}/")
    page.get_by_role("link", name="Take the consent: Filler").click()
    for risk in page.locator("[name^=risk]").all()[:4]:
        risk.check()
    sign(page)
    shoot(page, "consent")
    page.set_viewport_size(TABLET)


def blocked_vessel(page: Page, session: TreatmentSession) -> None:
    """The log without network, where it leads when the eye is touched, and the sheet it ends in."""
    chart = Chart(page, session.key)
    page.set_viewport_size(TABLET_UPRIGHT)
    page.route("**/charting/sync/", lambda route: route.abort())
    chart.touch("[data-occlusion]")
    sheet = page.locator("[data-sheet=occlusion]")
    chart.touch(sheet.get_by_role("button", name="Warm", exact=True))
    chart.touch(sheet.get_by_role("button", name="Refill"))
    chart.touch(sheet.get_by_role("group", name="This place").get_by_role("button", name="4 s"))
    chart.touch("[data-occlusion-done]")
    expect(sheet.locator("[data-line]")).to_have_count(2)
    shoot(page, "occlusion-log")
    chart.touch("[data-occlusion-emergency]")
    shoot(page, "occlusion-emergency")
    page.unroute("**/charting/sync/")
    page.set_viewport_size(TABLET)
    log = Occlusion.objects.earliest("pk")
    keep_sheet(page.request.get(f"/occlusions/{log.pk}/handover.pdf").body(), "handover")


def camera(page_with_camera, sign_in) -> None:
    """The earlier picture under the live one."""
    front = Photograph.objects.filter(view="front", state="rest").earliest("pk")
    with front.file.open() as file, Image.open(file) as image:
        page = page_with_camera(image.convert("L").resize((480, 640)))
    sign_in(page, User.objects.get(username="injector"))
    page.goto(f"/photographs/take/{front.patient_id}/")
    page.get_by_role("button", name="Start the camera").click()
    expect(page.locator("[data-ghost]")).to_be_visible()
    shoot(page, "camera")


def results(page: Page) -> None:
    """Two photographs, the aftercare sheet, outcomes and the whole record."""
    marked = PhotographMark.objects.values_list("photograph", flat=True)
    shown = Photograph.objects.filter(pk__in=marked, view="front", state="rest")
    first = shown.earliest("taken_at")
    second = shown.filter(patient=first.patient_id).latest("taken_at")
    page.goto(f"/comparisons/pair/{first.key}/{second.key}/")
    expect(page.locator("[data-canvas]")).to_have_attribute("data-loaded", "preview")
    page.keyboard.press("2")
    shoot(page, "comparison")
    sheet = AftercareSheet.objects.latest("pk")
    page.goto(f"/aftercare/sheets/{sheet.pk}/")
    shoot(page, "aftercare")
    page.goto("/outcomes/")
    shoot(page, "outcomes")
    asked = WholeRecord(patient=first.patient, purpose="patient", recipient="The patient")
    record = ask_for(record=asked, actor=User.objects.get(username="owner"))
    make(record)
    keep_sheet(bytes(WholeRecord.objects.get(pk=record.pk).pdf), "whole-record")


def with_the_patient(page: Page) -> None:
    """The tablet in the patient's hands; afterwards only the password opens the clinic again."""
    page.set_viewport_size(TABLET_UPRIGHT)
    patient = Patient.objects.filter(histories__isnull=True).latest("pk")
    page.goto(f"/patients/{patient.pk}/")
    page.get_by_role("button", name="Hand over tablet").click()
    expect(page.get_by_role("heading", name="Your medical history")).to_be_visible()
    shoot(page, "medical-history")
