"""The call list and a person's page, as the owner uses them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.recalls.services.lists import complete_list
from records.recalls.views import people
from tests.factories import make_event, make_patient, refreshed
from tests.pdf import pdf_text
from tests.records.recalls.cases import make_case, person_of, span, treat

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


@pytest.fixture
def ann(case, treated):
    return person_of(case, treated[0])


def url(case, name: str = "recall-people", *more) -> str:
    return reverse(name, args=[case.pk, *more])


def page_of(person, name: str = "recall-person") -> str:
    return reverse(name, args=[person.case_id, person.pk])


def shown(client, case, **asked) -> list[str]:
    return [row.contact.name for row in client.get(url(case), asked).context["rows"]]


def note(client, person, **sent):
    return client.post(page_of(person), {"channel": "phone", "outcome": "informed", **sent})


def test_the_list_shows_people_by_state_and_channel(client, case, ann):
    note(client, ann)
    assert shown(client, case) == ["Ann Example", "Bo Li"]
    assert shown(client, case, reach="reached") == ["Ann Example"]
    assert shown(client, case, reach="to_contact", channel="phone") == ["Bo Li"]
    assert shown(client, case, channel="letter") == []
    context = client.get(url(case)).context
    assert [count for _, count in context["tabs"]] == [1, 0, 1]


@pytest.mark.parametrize("asked", [{"reach": "x"}, {"channel": "dove"}, {"page": "-3"}])
def test_a_filter_that_means_nothing_shows_all(client, case, asked):
    assert shown(client, case, **asked) == ["Ann Example", "Bo Li"]


def test_the_list_goes_on_after_a_page(client, case, monkeypatch):
    monkeypatch.setattr(people, "PER_PAGE", 1)
    assert shown(client, case, page=2) == ["Bo Li"]


def test_an_attempt_is_noted_and_shown(client, ann, owner):
    answer = note(client, ann, outcome="no_answer", note="Rang twice")
    assert answer.headers["Location"] == page_of(ann)
    page = client.get(page_of(ann)).content.decode()
    for words in ("Phone: no answer", "Rang twice", "Tried, not reached", "Zygomatic region"):
        assert words in page
    reads = AuditEvent.objects.filter(action="read", patient_id=ann.patient_id)
    assert reads.filter(subject_type="recallcase", actor=owner).exists()


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"outcome": ""}, "Say what came of it."),
        ({"outcome": "came_back"}, "does not go with"),
        ({"channel": "dove"}, "Select a valid choice"),
        ({"at": "2999-01-01T10:00"}, "between the coming of the notice and now"),
        ({"at": "noon"}, "Type day and time as"),
    ],
)
def test_a_wrong_attempt_is_refused_and_kept_in_the_form(client, ann, sent, words):
    answer = note(client, ann, note="Their sister picked up", **sent)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert "Their sister picked up" in page
    assert not ann.contacts.exists()


def test_an_attempt_of_earlier_is_noted_with_its_time(client, case, ann):
    at = timezone.localtime(case.received_at + timedelta(minutes=2))
    note(client, ann, at=f"{at:%Y-%m-%dT%H:%M}")
    assert timezone.localtime(ann.contacts.get().at) == at.replace(second=0, microsecond=0)


def test_the_list_is_called_complete(client, owner, injector, case, units):
    answer = client.post(url(case, "recall-list-complete"), follow=True)
    assert "The call list is complete." in answer.content.decode()
    assert refreshed(case).list_by == owner
    again = client.post(url(case, "recall-list-complete"), follow=True).content.decode()
    assert "complete already" in again


def test_whoever_can_be_reached_in_no_way_needs_a_word(client, owner, injector, product, units):
    lost = make_patient(injector, "Cleo Lost")
    treat(injector, lost, units[0])
    case = make_case(owner, span(product))
    refused = client.post(url(case, "recall-list-complete"), follow=True).content.decode()
    assert f"{lost.record_number} can be reached in no way" in refused
    person = person_of(case, lost)
    assert "Nothing on record to reach them by" in client.get(page_of(person)).content.decode()
    client.post(page_of(person, "recall-person-unreachable"), {"note": "Left no address"})
    assert refreshed(person).unreachable_note == "Left no address"
    client.post(url(case, "recall-list-complete"))
    assert refreshed(case).list_at is not None
    too_long = client.post(page_of(person, "recall-person-unreachable"), {"note": "x" * 301})
    assert too_long.status_code == 422


def booking(injector, **fields) -> dict:
    day = timezone.localdate() + timedelta(days=14 - timezone.localdate().weekday())
    return {
        "practitioner": injector.pk, "kind": "review", "day": day.isoformat(), "start": "10:00",
        "minutes": "20", **fields,
    }  # fmt: skip


def test_an_appointment_is_booked_from_the_person_s_page(client, injector, ann):
    target = page_of(ann, "recall-person-book")
    assert client.get(target).status_code == 200
    sent = booking(injector, next=page_of(ann))
    assert client.post(target, sent).headers["Location"] == page_of(ann)
    assert refreshed(ann).appointment.patient_id == ann.patient_id
    assert "Seen because of it" in client.get(page_of(ann)).content.decode()
    assert "Cancel that one first" in client.post(target, sent).content.decode()


def test_an_adverse_event_of_theirs_is_counted_with_the_case(client, owner, case, ann, treated):
    event = make_event(owner, treated[0])
    assert "It belongs to this case" in client.get(page_of(ann)).content.decode()
    args = [case.pk, ann.pk, event.pk]
    client.post(reverse("recall-event-attach", args=args))
    assert case.events.get().event == event
    assert "Found in this case" in client.get(page_of(ann)).content.decode()
    bo = make_event(owner, treated[1])
    wrong = reverse("recall-event-attach", args=[case.pk, ann.pk, bo.pk])
    assert client.post(wrong).status_code == 404


def test_a_person_of_another_case_is_not_found(client, owner, case, ann, product):
    other = make_case(owner, span(product, "OTHER"))
    assert client.get(reverse("recall-person", args=[other.pk, ann.pk])).status_code == 404


def test_the_csv_is_handed_out_whole_and_in_each_patient_s_trail(client, case, treated):
    answer = client.get(url(case, "recall-people-csv"))
    assert answer.headers["Content-Disposition"] == (
        'attachment; filename="recall-R0001-call-list.csv"'
    )
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    assert text.count("\r\n") == 3
    assert "07700 900123" in text
    told = AuditEvent.objects.filter(action="recall.exported").values_list("patient_id", flat=True)
    assert sorted(told) == [patient.pk for patient in treated]


def test_the_pdf_can_be_called_from(client, case, treated, owner):
    complete_list(case=case, actor=owner)
    answer = client.get(url(case, "recall-people-pdf"))
    assert answer.headers["Content-Disposition"] == (
        'inline; filename="recall-R0001-call-list.pdf"'
    )
    text = pdf_text(answer.content)
    for words in ("Call list", "Ann Example", "07700 900123", "To be contacted", "FSN-14"):
        assert words in text
    assert text.count("0.2 mL 1 point") == 2
    assert "DRILL" not in text
    assert AuditEvent.objects.filter(action="recall.printed").count() == 2


def test_files_of_a_drill_say_so_in_name_and_on_each_page(client, drill):
    sheet = client.get(url(drill, "recall-people-csv"))
    assert sheet.headers["Content-Disposition"] == (
        'attachment; filename="DRILL-D0001-call-list.csv"'
    )
    for name, kind in (("recall-people-pdf", "call-list"), ("recall-units-pdf", "units")):
        paper = client.get(url(drill, name))
        assert f'filename="DRILL-D0001-{kind}.pdf"' in paper.headers["Content-Disposition"]
        text = pdf_text(paper.content)
        assert "DRILL D0001" in text
        assert "This is a drill." in text


def test_a_list_too_long_for_paper_is_taken_as_csv(client, case, monkeypatch):
    monkeypatch.setattr(people, "PRINTED_PEOPLE", 1)
    answer = client.get(url(case, "recall-people-pdf"), follow=True)
    assert "Take the CSV" in answer.content.decode()
    assert not AuditEvent.objects.filter(action="recall.printed").exists()


def test_a_press_on_a_number_calls_it(client, case, ann):
    for page in (url(case), page_of(ann)):
        assert 'href="tel:07700900123"' in client.get(page).content.decode()


def test_nobody_is_called_by_a_press_in_a_drill(client, drill, treated):
    treated[0].email = "ann@example.org"
    treated[0].save()
    for page in (url(drill), page_of(person_of(drill, treated[0]))):
        html = client.get(page).content.decode()
        assert "07700 900123" in html
        assert "ann@example.org" in html
        assert "tel:" not in html
        assert "mailto:" not in html
