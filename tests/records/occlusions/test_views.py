"""The pages of occlusion logs."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from tests.factories import make_occlusion, make_occlusion_line, make_patient, make_session
from tests.pdf import pdf_text

pytestmark = pytest.mark.django_db


def page(client, user, name: str, *args) -> str:
    client.force_login(user)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_log_is_shown_line_by_line_with_its_sources(client, injector, log):
    make_occlusion_line(log, what="refill", refill_tenths=40)
    shown = page(client, injector, "occlusion-detail", log.pk)
    assert "4 seconds: slow" in shown
    assert "DeLorenzi, Aesthet Surg J 2017" in shown
    assert "Running" in shown
    read = AuditEvent.objects.filter(action="read", subject_type="occlusion").get()
    assert read.patient_id == log.session.patient_id


def test_the_event_that_a_log_ended_in_leads_back_to_it(client, owner, log):
    end = make_occlusion_line(log, what="ended", grade="2")
    link = reverse("occlusion-detail", args=[log.pk])
    assert link in page(client, owner, "adverse-event-detail", end.event_id)


def test_the_list_says_how_many_run(client, owner, log, injector, desk):
    other = make_occlusion(make_session(injector, make_patient(desk, "Bea Example")))
    make_occlusion_line(other, what="discarded")
    shown = page(client, owner, "occlusion-list")
    assert "1 running" in shown
    assert "Opened by mistake" in shown


def test_a_list_takes_as_many_queries_with_one_as_with_three(
    client, owner, log, injector, desk, django_assert_max_num_queries
):
    for name in ("Bea Example", "Cy Example"):
        make_occlusion_line(
            make_occlusion(make_session(injector, make_patient(desk, name))), what="pain", pain=3
        )
    client.force_login(owner)
    with django_assert_max_num_queries(12):
        client.get(reverse("occlusion-list"))


def test_a_patient_without_a_log_has_no_panel_of_them(client, injector, log, desk):
    patient = log.session.patient
    assert "Occlusion logs" in page(client, injector, "occlusion-for-patient", patient.pk)
    bea = make_patient(desk, "Bea Example")
    assert "Occlusion logs" not in page(client, injector, "occlusion-for-patient", bea.pk)


def test_the_adverse_event_of_a_log_leads_back_to_it(client, injector, log):
    ended = make_occlusion_line(log, what="ended", grade="2")
    shown = page(client, injector, "adverse-event-detail", ended.event_id)
    assert f'href="{reverse("occlusion-detail", args=[log.pk])}"' in shown


def test_the_handover_sheet_is_a_pdf(client, injector, log):
    client.force_login(injector)
    answer = client.get(reverse("occlusion-handover", args=[log.pk]))
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert "Ann" not in answer["Content-Disposition"]


def test_whom_to_call_back_stands_at_the_head_of_the_handover_sheet(client, injector, log):
    ClinicPolicy.objects.create(emergency_contact="01632 960001")
    client.force_login(injector)
    text = pdf_text(client.get(reverse("occlusion-handover", args=[log.pk])).content)
    assert 0 < text.index("01632 960001") < text.index("What had been injected")


@pytest.mark.parametrize(
    "name", ["occlusion-detail", "occlusion-handover", "occlusion-for-patient"]
)
def test_an_unknown_log_is_not_found(client, injector, name):
    client.force_login(injector)
    assert client.get(reverse(name, args=[4711])).status_code == 404
