"""What the worker asks about, from the trail as it is written, and how the owner answers."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting, record_read
from clinic.policy.models import ClinicPolicy
from clinic.policy.services import save_policy
from clinic.sites.models import Site
from planning.unusual_access import Question
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.record_access.enums import Mark
from records.record_access.errors import RecordAccessError
from records.record_access.models import AccessFinding, AccessLook, StaffPatient
from records.record_access.queries.facts import with_reason_near
from records.record_access.services.looking import look
from records.record_access.services.marking import mark_findings
from records.record_access.services.staff_patients import say_whether_same
from tests.factories import (
    make_absence,
    make_patient,
    make_user,
    make_working_time,
)

pytestmark = pytest.mark.django_db

# A Tuesday; the clinic's clock is UTC in the tests' winter.
DAY = date(2026, 12, 1)
MORNING = datetime.combine(DAY, time(10), UTC)
NEXT_DAY = MORNING + timedelta(days=1)


@pytest.fixture(autouse=True)
def looked_before(db):
    """Everything before that day was looked at."""
    start = datetime.combine(DAY, time(), UTC)
    AccessLook.objects.create(hours_until=start, days_until=DAY)


@pytest.fixture
def old_patient(desk):
    """Registered long ago, and nothing since."""
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        return make_patient(desk, "Otto Older")


def opened(actor, patient: Patient, at: datetime = MORNING, action: str = "read") -> None:
    with time_machine.travel(at, tick=False):
        record_read(actor, patient, patient_id=patient.pk, action=action)


def visit(patient: Patient, practitioner, at: datetime) -> None:
    """As it stands in the table, in the past as well."""
    Appointment.objects.create(
        patient=patient, practitioner=practitioner, kind="consultation", starts_at=at
    )


def found(question: Question) -> list[AccessFinding]:
    return list(AccessFinding.objects.filter(question=question))


# What is found


def test_a_record_without_a_reason_is_asked_about_when_the_day_is_over(desk, old_patient):
    opened(desk, old_patient)
    assert look(MORNING + timedelta(hours=3)) == 0
    assert look(NEXT_DAY) == 1
    (finding,) = AccessFinding.objects.all()
    assert (finding.question, finding.person, finding.patient) == (
        Question.NO_REASON, desk, old_patient,
    )  # fmt: skip
    assert (finding.day, finding.mark, finding.records) == (DAY, Mark.OPEN, [old_patient.pk])
    assert look(NEXT_DAY + timedelta(hours=1)) == 0


def test_whoever_is_booked_after_the_record_was_opened_has_a_reason(desk, injector, old_patient):
    opened(desk, old_patient)
    visit(old_patient, injector, MORNING + timedelta(days=9))
    assert look(NEXT_DAY) == 0


@pytest.mark.parametrize(
    ("days", "has_reason"), [(14, True), (15, False), (-14, True), (-15, False)]
)
def test_near_is_as_many_days_before_and_after(desk, injector, old_patient, days, has_reason):
    visit(old_patient, injector, MORNING + timedelta(days=days))
    assert with_reason_near({old_patient.pk}, DAY, 14) == (
        {old_patient.pk} if has_reason else set()
    )


def test_a_new_patient_is_a_reason(desk):
    with time_machine.travel(MORNING, tick=False):
        new = make_patient(desk, "Nina New")
    assert with_reason_near({new.pk}, DAY, 14) == {new.pk}


def test_many_records_are_asked_about_soon(owner, desk, injector):
    save_policy(policy=ClinicPolicy(access_records_an_hour=3), actor=owner)
    with time_machine.travel(MORNING, tick=False):
        patients = [make_patient(desk, f"Pat {name}") for name in ("Ash", "Elm", "Fir", "Oak")]
    for number, patient in enumerate(patients):
        opened(desk, patient, MORNING + timedelta(minutes=5 + number))
    assert look(MORNING + timedelta(minutes=65)) == 0  # the hour may still be written
    assert look(MORNING + timedelta(minutes=75)) == 0  # it began with its first record
    assert look(MORNING + timedelta(minutes=135)) == 1
    (finding,) = found(Question.MANY)
    assert (finding.count, finding.patient) == (4, None)
    assert finding.records == [patient.pk for patient in patients]


def test_what_a_tablet_or_a_printed_list_notes_for_all_is_no_look(owner, injector, desk):
    save_policy(policy=ClinicPolicy(access_records_an_hour=1), actor=owner)
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        patients = [make_patient(desk, f"Pat {name}") for name in ("Ash", "Elm", "Fir")]
    for action in ("read.day", "appointment.printed", "read.alerts"):
        for patient in patients:
            opened(injector, patient, action=action)
    assert look(NEXT_DAY) == 0
    opened(injector, patients[0], NEXT_DAY)
    assert look(NEXT_DAY + timedelta(days=1)) == 1


def test_before_and_after_a_persons_own_hours(injector, desk, old_patient):
    site = Site.objects.create(name="Larkstone")
    make_working_time(injector, site, weekday=2, starts=time(9), ends=time(12))
    visit(old_patient, injector, MORNING)
    opened(injector, old_patient, datetime.combine(DAY, time(12, 59), UTC))
    opened(injector, old_patient, datetime.combine(DAY, time(13, 1), UTC))
    look(NEXT_DAY)
    (finding,) = found(Question.HOURS)
    assert finding.reason == "Opened at 13:01; work ended at 12:00."


def test_who_stays_for_a_late_visit_is_at_work(injector, desk, old_patient):
    site = Site.objects.create(name="Larkstone")
    make_working_time(injector, site, weekday=2, starts=time(9), ends=time(12))
    late = datetime.combine(DAY, time(18), UTC)
    visit(old_patient, injector, late)
    opened(injector, old_patient, late + timedelta(minutes=10))
    look(NEXT_DAY)
    assert found(Question.HOURS) == []


def test_without_hours_the_policys_hold_and_a_day_off_is_a_day_off(desk, injector, old_patient):
    visit(old_patient, injector, MORNING)
    opened(desk, old_patient, datetime.combine(DAY, time(7, 30), UTC))
    opened(desk, old_patient, datetime.combine(DAY, time(22), UTC))
    make_absence(
        person=injector,
        starts_at=MORNING - timedelta(hours=10),
        ends_at=MORNING + timedelta(hours=14),
    )
    other = make_user("other", is_injector=True)
    make_absence(
        person=other, starts_at=MORNING - timedelta(hours=10), ends_at=MORNING + timedelta(hours=14)
    )
    opened(other, old_patient)
    look(NEXT_DAY)
    assert sorted(
        (one.person.username, one.key.rpartition(":")[2]) for one in found(Question.HOURS)
    ) == [
        ("desk", "after"),
        ("other", "off"),
    ]


def test_a_colleague_who_is_a_patient(owner, desk, injector, old_patient):
    say_whether_same(person=injector, patient=old_patient, is_same=True, actor=owner)
    treats = make_user("treats", is_injector=True)
    visit(old_patient, treats, MORNING + timedelta(days=2))
    for person in (desk, injector, treats):
        opened(person, old_patient)
    look(MORNING + timedelta(minutes=75))
    asked = {(one.question, one.person.username) for one in AccessFinding.objects.all()}
    assert asked == {(Question.COLLEAGUE, "desk"), (Question.OWN, "injector")}


def test_the_desk_checks_in_a_colleague_on_the_day(owner, desk, injector, old_patient):
    say_whether_same(person=injector, patient=old_patient, is_same=True, actor=owner)
    treats = make_user("treats", is_injector=True)
    visit(old_patient, treats, MORNING)
    opened(desk, old_patient)
    assert look(NEXT_DAY) == 0


def test_a_namesake_is_asked_about_until_somebody_says(owner, desk, injector):
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        namesake = make_patient(desk, "Ida INJECTOR")
    opened(injector, namesake)
    look(MORNING + timedelta(minutes=75))
    (finding,) = found(Question.OWN)
    assert "may be the same" in finding.reason
    say_whether_same(person=injector, patient=namesake, is_same=False, actor=owner)
    opened(injector, namesake, NEXT_DAY)
    look(NEXT_DAY + timedelta(minutes=75))
    assert len(found(Question.OWN)) == 1
    assert len(found(Question.FAMILY)) == 1  # it stays the family's name


def test_the_same_address_as_the_own_record(owner, desk, injector):
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        own = make_patient(desk, "Iris Married", address="Elm Street 4\nExampleton")
        spouse = make_patient(desk, "Tom Married", address="Elm Street 4, Exampleton")
    say_whether_same(person=injector, patient=own, is_same=True, actor=owner)
    opened(injector, spouse)
    look(MORNING + timedelta(minutes=75))
    (finding,) = AccessFinding.objects.all()
    assert (finding.question, finding.patient) == (Question.FAMILY, spouse)


def test_two_lookers_find_nothing_twice(desk, old_patient, monkeypatch):
    opened(desk, old_patient)
    seen = AccessLook.objects.get()
    assert look(NEXT_DAY) == 1
    monkeypatch.setattr(
        "records.record_access.services.looking.AccessLook.objects.filter",
        lambda **_: type("Rows", (), {"first": lambda self: seen})(),
    )
    assert look(NEXT_DAY) == 0
    AccessLook.objects.update(hours_until=seen.hours_until, days_until=seen.days_until)
    assert look(NEXT_DAY) == 0  # the keys hold
    assert AccessFinding.objects.count() == 1


def test_a_worker_that_was_away_catches_up_in_steps(desk, old_patient):
    opened(desk, old_patient)
    later = MORNING + timedelta(days=8)
    assert look(later) == 1
    assert AccessLook.objects.get().days_until == DAY + timedelta(days=3)
    look(later)
    look(later)
    assert AccessLook.objects.get().days_until == DAY + timedelta(days=8)


def test_a_new_clinic_begins_with_the_day_before(desk, old_patient):
    AccessLook.objects.all().delete()
    opened(desk, old_patient, MORNING - timedelta(days=2))
    opened(desk, old_patient)
    assert look(NEXT_DAY) == 1


def test_a_look_asks_the_database_the_same_few_times(desk, injector, django_assert_num_queries):
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        patients = [make_patient(desk, f"Pat {name}") for name in ("Ash", "Elm", "Fir", "Oak")]
    opened(desk, patients[0])
    with django_assert_num_queries(60, exact=False) as one:
        look(NEXT_DAY)
    for person in (desk, injector):
        for patient in patients:
            opened(person, patient, NEXT_DAY)
    with django_assert_num_queries(len(one)):
        look(NEXT_DAY + timedelta(days=1))


# What was found stays


@pytest.fixture
def finding(desk, old_patient):
    opened(desk, old_patient)
    look(NEXT_DAY)
    return AccessFinding.objects.get()


@pytest.mark.parametrize(
    ("statement", "message"),
    [
        ("UPDATE records_accessfinding SET reason = 'x'", "stays as it was found"),
        ("UPDATE records_accessfinding SET patient_id = NULL", "stays as it was found"),
        ("DELETE FROM records_accessfinding", "stays on record"),
        ("UPDATE records_accessfinding SET mark = 'explained'", "marked_with_words"),
    ],
)
def test_the_database_keeps_what_was_found(finding, statement, message):
    with (
        pytest.raises(IntegrityError, match=message),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)


def test_an_answer_is_not_made_open_again(finding, owner):
    mark_findings(pks=[finding.pk], mark=Mark.CONCERN, words="No answer yet", actor=owner)
    with pytest.raises(IntegrityError, match="stays answered"), transaction.atomic():
        AccessFinding.objects.update(mark=Mark.OPEN, words="", marked_by=None, marked_at=None)


def test_a_member_of_staff_has_one_record(owner, desk, injector, old_patient, patient):
    say_whether_same(person=injector, patient=old_patient, is_same=True, actor=owner)
    with pytest.raises(RecordAccessError, match="Another record is noted"):
        say_whether_same(person=injector, patient=patient, is_same=True, actor=owner)
    with pytest.raises(RecordAccessError, match="Another record is noted"):
        say_whether_same(person=desk, patient=old_patient, is_same=True, actor=owner)
    say_whether_same(person=injector, patient=old_patient, is_same=False, actor=owner)
    say_whether_same(person=injector, patient=patient, is_same=True, actor=owner)
    assert StaffPatient.objects.the_same().get().patient == patient
    events = AuditEvent.objects.filter(action="staff_patient.said")
    assert [event.patient_id for event in events] == [patient.pk, old_patient.pk, old_patient.pk]


# The owner answers


def test_a_question_is_answered_with_words_and_in_the_trail(finding, owner):
    mark_findings(pks=[finding.pk], mark=Mark.CONCERN, words=" Asked Dora ", actor=owner)
    mark_findings(pks=[finding.pk], mark=Mark.EXPLAINED, words="A call back", actor=owner)
    finding.refresh_from_db()
    assert (finding.mark, finding.words, finding.marked_by) == ("explained", "A call back", owner)
    events = AuditEvent.objects.filter(action="access_finding.marked")
    assert [event.data for event in events] == [
        '{"after":{"mark":"explained","words":"A call back"},'
        '"before":{"mark":"concern","words":"Asked Dora"}}',
        '{"after":{"mark":"concern","words":"Asked Dora"},"before":{"mark":"open","words":""}}',
    ]
    with pytest.raises(RecordAccessError, match="explained meanwhile"):
        mark_findings(pks=[finding.pk], mark=Mark.CONCERN, words="Again", actor=owner)


def test_an_owner_does_not_answer_about_themselves_while_there_is_another(owner, old_patient):
    opened(owner, old_patient)
    look(NEXT_DAY)
    (one,) = AccessFinding.objects.all()
    second = make_user("second", is_owner=True)
    with pytest.raises(RecordAccessError, match="another practice owner"):
        mark_findings(pks=[one.pk], mark=Mark.EXPLAINED, words="It was me", actor=owner)
    second.is_active = False
    second.save()
    mark_findings(pks=[one.pk], mark=Mark.EXPLAINED, words="It was me", actor=owner)


def test_all_or_none_are_answered(finding, owner):
    with pytest.raises(RecordAccessError, match="is not there"):
        mark_findings(pks=[finding.pk, 0], mark=Mark.EXPLAINED, words="x", actor=owner)
    with pytest.raises(RecordAccessError, match="in words"):
        mark_findings(pks=[finding.pk], mark=Mark.EXPLAINED, words=" ", actor=owner)
    finding.refresh_from_db()
    assert finding.is_open


def test_open_questions_stand_on_the_start_page_and_the_rail(finding, owner, desk, signed_in):
    client = signed_in(owner)
    page = client.get(reverse("today")).content.decode()
    assert "To answer: 1 question about who opened records" in page
    assert page.count("nav__count") == 2  # the drawer and its entry
    mark_findings(pks=[finding.pk], mark=Mark.EXPLAINED, words="A call back", actor=owner)
    page = client.get(reverse("today")).content.decode()
    assert "about who opened records" not in page
    assert "nav__count" not in page
    assert "Unusual access" not in signed_in(desk).get(reverse("today")).content.decode()


def answer(client, *findings, follow: bool = True, **typed):
    sent = {"finding": [one.pk for one in findings], "words": "A call back", "mark": "explained"}
    return client.post(reverse("unusual-access"), sent | typed, follow=follow)


def test_several_are_answered_at_once_on_the_page(finding, desk, owner, signed_in):
    with time_machine.travel(MORNING - timedelta(days=300), tick=False):
        another = make_patient(desk, "Uma Unseen")
    opened(desk, another, NEXT_DAY)
    look(NEXT_DAY + timedelta(days=1))
    client = signed_in(owner)
    page = answer(client, *AccessFinding.objects.all()).content.decode()
    assert "2 answered." in page
    assert "No open question" in page
    explained = client.get(reverse("unusual-access"), {"show": "explained"}).content.decode()
    assert explained.count("A call back") == 2


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"finding": []}, "Choose the questions"),
        ({"finding": ["999999"]}, "is not there"),
        ({"words": "  "}, "Say in words"),
        ({"mark": "open"}, "open is not one of the available choices"),
        ({"mark": ""}, "Choose whether"),
    ],
)
def test_a_bad_answer_keeps_what_was_typed(finding, owner, signed_in, typed, told):
    page = answer(signed_in(owner), finding, **typed)
    assert page.status_code == 422
    text = page.content.decode()
    assert told in text
    if "words" not in typed:
        assert "A call back</textarea>" in text
    finding.refresh_from_db()
    assert finding.is_open


def test_looking_now_from_the_page(desk, owner, old_patient, signed_in):
    opened(desk, old_patient)
    client = signed_in(owner)
    with time_machine.travel(NEXT_DAY, tick=False):
        client.force_login(owner)
        page = client.post(reverse("unusual-access-look"), follow=True).content.decode()
    assert "1 new question." in page


def test_the_page_asks_whether_namesakes_are_one(owner, desk, injector, signed_in):
    namesake = make_patient(desk, "Ida Injector")
    client = signed_in(owner)
    assert "Is this a colleague?" in client.get(reverse("unusual-access")).content.decode()
    sent = {"person": injector.pk, "patient": namesake.pk, "is_same": "yes"}
    client.post(reverse("staff-patient-say"), sent)
    assert StaffPatient.objects.get().is_same
    assert "Is this a colleague?" not in client.get(reverse("unusual-access")).content.decode()
    page = client.post(reverse("staff-patient-say"), {"person": "x"}, follow=True)
    assert "Choose again" in page.content.decode()


def test_a_person_without_a_trail_has_no_actor_to_ask(old_patient):
    """What a command did is nobody's look."""
    with acting(None) as trail:
        trail.add("read", old_patient, patient_id=old_patient.pk)
        trail._events[-1].at = MORNING
    assert look(NEXT_DAY) == 0
