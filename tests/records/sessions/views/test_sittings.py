"""Pages of sessions: list, start, records, panels."""

import re
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from clinic.audit.models import AuditEvent
from clinic.quarantine.services import quarantine_lot
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_alert,
    make_appointment,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
)


def page(client, name: str, *args, status: int = 200) -> str:
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return answer.content.decode()


def test_list_shows_what_is_still_to_be_signed_first(signed_in, owner, session, injector, units):
    text = page(signed_in(owner), "session-list")
    assert "Still to be signed" in text
    assert "No signed session yet" in text
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    text = page(signed_in(owner), "session-list")
    assert "Still to be signed" not in text
    assert "Ann Example" in text


@pytest.mark.usefixtures("patient_agrees")
def test_start_opens_the_charting_screen(signed_in, injector, patient):
    url = reverse("session-start", args=[patient.pk])
    answer = signed_in(injector).post(url, {"when": "now", "jaw": "broader"})
    session = TreatmentSession.objects.get()
    assert answer.url == f"/charting/#{session.key}"
    assert (session.jaw, session.late_reason) == ("broader", "")


@pytest.mark.usefixtures("patient_agrees")
def test_start_from_an_appointment_is_linked_to_it(signed_in, injector, patient, desk):
    booked = make_appointment(desk, patient, injector, "2030-01-07 10:00")
    url = reverse("session-start", args=[patient.pk]) + f"?appointment={booked.pk}"
    signed_in(injector).post(url, {"when": "now", "jaw": "average"})
    assert TreatmentSession.objects.get().appointment == booked


def test_back_from_the_start_leads_to_where_one_came_from(signed_in, injector, patient, desk):
    booked = make_appointment(desk, patient, injector, "2030-01-07 10:00")
    client, url = signed_in(injector), reverse("session-start", args=[patient.pk])
    visit, record = (
        reverse("appointment-detail", args=[booked.pk]),
        reverse("patient-detail", args=[patient.pk]),
    )
    assert client.get(url).context["back"] == record
    assert client.get(f"{url}?appointment={booked.pk}").context["back"] == visit
    assert client.get(f"{url}?appointment={booked.pk}&next=/").context["back"] == "/"


@pytest.mark.parametrize("query", ["?appointment=77", "?appointment=x", "?appointment=" + "9" * 30])
def test_start_from_an_unknown_appointment_is_404(signed_in, injector, patient, query):
    url = reverse("session-start", args=[patient.pk]) + query
    assert signed_in(injector).get(url).status_code == 404


def test_start_goes_on_with_the_unsigned_session(signed_in, injector, session):
    answer = signed_in(injector).get(reverse("session-start", args=[session.patient_id]))
    assert answer.url == f"/charting/#{session.key}"


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        ({"when": "earlier"}, "Say when the treatment took place."),
        ({"when": "earlier", "started_at": "2025-01-05T10:00"}, "Say why a treatment"),
        ({"when": "earlier", "started_at": "2199-01-05T10:00"}, "cannot lie in the future"),
        ({"when": "earlier", "started_at": "soon", "late_reason": "kept text"}, "kept text"),
    ],
)
def test_earlier_treatment_needs_time_and_reason(signed_in, injector, patient, form, sentence):
    url = reverse("session-start", args=[patient.pk])
    answer = signed_in(injector).post(
        url, form | {"jaw": "average", "reason": "Consent is on paper"}
    )
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not TreatmentSession.objects.exists()


def test_own_unsigned_session_is_charted_on_its_own_screen(signed_in, injector, session):
    answer = signed_in(injector).get(reverse("session-detail", args=[session.pk]))
    assert (answer.status_code, answer.url) == (302, f"/charting/#{session.key}")
    assert not AuditEvent.objects.filter(action="read").exists()


def test_page_shows_who_what_and_where(signed_in, owner, session, units, desk):
    make_alert(desk, session.patient, "Lidocaine rash")
    point = make_point(session, units[0])
    text = page(signed_in(owner), "session-detail", session.pk)
    for shown in ["Ann Example", "17 May 1980", session.patient.record_number, "Lidocaine rash"]:
        assert shown in text
    assert text.count(f'data-point="{point.key}"') == 1
    assert text.count(f'data-row="{point.key}"') == 1
    assert "0.2\u00a0mL" in text
    assert '<strong class="num">0.8\u00a0mL</strong> left' in text


def test_shared_vial_shows_how_it_was_made_up_until_when_and_a_caution(
    signed_in, owner, injector, session
):
    toxin = make_product(
        "Toxin", kind="toxin", content=10_000, is_single_patient=False, hours_after_opening=24
    )
    vial = make_units(owner, toxin, number="T1", quantity=1)[0]
    made_up = {"diluent_ul": 2500, "diluent": "saline"}
    put_on_tray(session=session, unit=vial, actor=injector, **made_up)
    text = words_of(page(signed_in(owner), "session-detail", session.pk))
    use_before = timezone.localtime(vial.opening.use_before)
    # 100 units in 2.5 mL are 4 units in 0.1 mL: dilution guides of onabotulinumtoxinA.
    assert "Shared vial: new needle and syringe for each draw" in text
    assert "2.5 mL sodium chloride 0.9 %: 4 units in 0.1 mL Made up" in text
    assert "by Ida Injector" in text
    assert f"Use before {use_before.day} {use_before:%b, %H:%M}" in text
    panel = words_of(page(signed_in(owner), "session-for-unit", vial.pk))
    expected = [
        "by Ida Injector", "For Shared", "With 2.5 mL sodium chloride 0.9 %", "In 0.1 mL 4 units",
        f"Use before {use_before.day} {use_before:%b %Y, %H:%M}",
    ]  # fmt: skip
    for shown in expected:
        assert shown in panel


def words_of(html: str) -> str:
    """The text without its markup, each gap one blank."""
    return " ".join(unescape(strip_tags(html.replace("<", " <"))).replace("\u00a0", " ").split())


def test_tray_says_what_came_into_quarantine(signed_in, owner, session, units):
    quarantine_lot(lot=units[0].lot, reason="Maker asked", actor=owner)
    text = words_of(page(signed_in(owner), "session-detail", session.pk))
    assert "In quarantine" in text
    assert "Quarantine: Lot LOT42 was put in quarantine on" in text
    assert "Maker asked. Not to be injected." in text


def test_owner_and_colleague_read_without_the_tools(signed_in, owner, session):
    colleague = make_user("second", is_injector=True)
    for reader in (owner, colleague):
        text = page(signed_in(reader), "session-detail", session.pk)
        assert "You see it as it stands now" in text
        assert "data-charting" not in text
        assert "data-open-unit" not in text


def test_opening_the_page_is_in_the_audit_trail(signed_in, owner, session):
    page(signed_in(owner), "session-detail", session.pk)
    event = AuditEvent.objects.filter(action="read").get()
    assert (event.actor, event.patient_id) == (owner, session.patient_id)


def test_front_desk_sees_no_session(signed_in, desk, session):
    page(signed_in(desk), "session-detail", session.pk, status=403)
    page(signed_in(desk), "session-for-patient", session.patient_id, status=403)


def test_unknown_session_is_404(signed_in, owner):
    page(signed_in(owner), "session-detail", 4711, status=404)


def test_names_of_any_script_and_markup_are_shown_as_text(signed_in, owner, injector, desk, units):
    name = "مريم <b>الخطيب</b>"
    session = make_session_with_unit(injector, make_patient(desk, name), units[1])
    text = page(signed_in(owner), "session-detail", session.pk)
    assert "<bdi>مريم &lt;b&gt;الخطيب&lt;/b&gt;</bdi>" in text


def test_patients_panel_lists_sessions_with_totals(signed_in, owner, session, units):
    make_point(session, units[0])
    text = page(signed_in(owner), "session-for-patient", session.patient_id)
    assert reverse("session-detail", args=[session.pk]) in text
    assert "0.2\u00a0mL" in text
    assert "<html" not in text


def test_units_panel_lists_points_with_patients(signed_in, owner, session, units):
    make_point(session, units[0])
    text = page(signed_in(owner), "session-for-unit", units[0].pk)
    assert session.patient.record_number in text
    assert "Zygomatic region, left" in text
    assert "Nothing was drawn" in page(signed_in(owner), "session-for-unit", units[1].pk)


def test_drawing_is_fetched_once_and_kept(signed_in, owner, session):
    """Three drawings of some 170 kB each must not travel with every page over a weak network."""
    client = signed_in(owner)
    text = page(client, "session-detail", session.pk)
    assert len(text) < 150_000
    address = re.search(r'data-drawing="([^"]+/front/[^"]+)"', text)[1]
    answer = client.get(address)
    assert answer.content.startswith(b"<svg")
    assert answer["Cache-Control"] == "private, max-age=31536000, immutable"


@pytest.mark.parametrize("kind", ["back/average", "front/square", "picture/average"])
def test_unknown_drawing_is_404(signed_in, injector, kind):
    assert signed_in(injector).get(f"/drawings/{kind}/").status_code == 404


def test_page_takes_the_same_queries_for_any_number_of_points(
    signed_in, owner, session, units, count_queries
):
    client, url = signed_in(owner), reverse("session-detail", args=[session.pk])
    make_point(session, units[0], amount=10)
    first = count_queries(lambda: client.get(url))
    for _ in range(3):
        make_point(session, units[0], amount=10)
    assert count_queries(lambda: client.get(url)) == first


def test_list_takes_the_same_queries_for_any_number_of_sessions(
    signed_in, injector, session, desk, count_queries
):
    client, url = signed_in(injector), reverse("session-list")
    first = count_queries(lambda: client.get(url))
    for number in range(3):
        make_session(injector, make_patient(desk, f"Patient {number}"))
    assert count_queries(lambda: client.get(url)) == first
