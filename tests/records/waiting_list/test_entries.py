"""Who is on the waiting list: what the services and the database keep true."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.waiting_list.errors import AlreadyWaiting, EntryClosed, ReasonMissing
from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.waiting_list.queries.lists import next_fit, standing_entries
from records.waiting_list.services.entries import add_entry, change_entry, reopen_entry
from records.waiting_list.services.offers import accept, decline, offer_time, remove_entry
from tests.factories import make_appointment, make_user, refreshed
from tests.records.waiting_list.conftest import moment

pytestmark = pytest.mark.django_db


def test_a_patient_waits_for_a_kind_once_and_again_after_leaving(wait, desk, patient):
    entry = wait("", patient=patient)
    with pytest.raises(AlreadyWaiting, match="consultation"):
        wait("", patient=patient)
    wait("", patient=patient, kind="treatment")
    remove_entry(entry=entry, reason="Booked elsewhere", actor=desk)
    assert wait("", patient=patient).is_standing
    assert AuditEvent.objects.filter(action="waiting_list.added").count() == 3


def test_it_is_kept_who_called_it_urgent_and_why(wait, desk, owner):
    with pytest.raises(ReasonMissing):
        wait("First", is_urgent=True, urgent_reason=" ")
    entry = wait("Second")
    entry.is_urgent, entry.urgent_reason = True, "Travels on Friday"
    change_entry(entry=entry, actor=owner)
    entry.note = "Prefers a call"
    change_entry(entry=entry, actor=desk)
    assert refreshed(entry).urgent_by == owner
    entry.is_urgent = False
    change_entry(entry=entry, actor=desk)
    assert (refreshed(entry).urgent_by, refreshed(entry).urgent_reason) == (None, "")


def test_what_did_not_change_is_not_in_the_trail(wait, desk):
    change_entry(entry=wait("First"), actor=desk)
    assert not AuditEvent.objects.filter(action="waiting_list.changed").exists()


def test_the_place_in_the_order_stays_when_something_is_changed(wait, desk):
    first, second = wait("First", days=2), wait("Second", days=1)
    first.part = "morning"
    change_entry(entry=first, actor=desk)
    urgent = wait("Urgent", days=0, is_urgent=True, urgent_reason="Wedding")
    assert list(standing_entries()) == [urgent, first, second]


def test_an_entry_that_left_is_not_changed(wait, desk):
    entry = wait("First")
    remove_entry(entry=entry, reason="Moved away", actor=desk)
    with pytest.raises(EntryClosed, match="taken off"):
        change_entry(entry=entry, actor=desk)
    with pytest.raises(EntryClosed, match="anew"):
        reopen_entry(entry=entry, actor=desk)


def test_who_took_a_later_time_as_a_fallback_waits_on_at_the_old_place(wait, desk, injector):
    entry = wait("First", days=9)
    since = entry.added_at
    make_appointment(desk, entry.patient, injector, "2027-04-06 10:00")
    reopened = reopen_entry(entry=entry, actor=desk)
    assert (reopened.is_standing, reopened.added_at) == (True, since)
    reopen_entry(entry=entry, actor=desk)
    assert AuditEvent.objects.filter(action="waiting_list.reopened").count() == 1


def test_the_list_tells_how_many_offers_were_not_taken(wait, desk, freed):
    wait("First")
    decline(offer_time(freed=freed, actor=desk), actor=desk)
    assert standing_entries().get().untaken == 1


def test_a_part_of_the_list(wait, injector):
    other = make_user("other", is_injector=True)
    anybody, of_other = wait("Anybody"), wait("Of the other", practitioner=other)
    review = wait("Review", kind="review", practitioner=injector)
    assert set(standing_entries(practitioner=other)) == {anybody, of_other}
    assert list(standing_entries(kind="review", practitioner=injector)) == [review]


def test_the_next_time_that_suits_is_found(wait, desk, injector, patient):
    entry = wait(
        "First", weekdays=[3], part="afternoon", notice_hours=24, first_on=date(2027, 3, 2)
    )
    make_appointment(desk, patient, injector, "2027-03-03 12:00", minutes=60)
    assert next_fit(entry).starts_at == moment("2027-03-03 13:00")
    entry.last_on = date(2027, 3, 2)
    assert next_fit(entry) is None


@pytest.mark.parametrize(
    ("weekdays", "part", "words"),
    [
        ([1, 2, 3, 4, 5, 6, 7], "any", "Any time"),
        ([1, 2, 3, 4, 5, 6, 7], "morning", "Any day, mornings"),
        ([1, 2, 3, 4, 5], "any", "Mon to Fri"),
        ([1, 2, 4, 5, 6], "afternoon", "Mon, Tue, Thu to Sat, afternoons"),
    ],
)
def test_what_suits_is_said_in_few_words(weekdays, part, words):
    assert WaitingEntry(weekdays=weekdays, part=part).when_text == words


# Round the forms


@pytest.mark.parametrize(
    ("fields", "rule"),
    [
        ({"last_on": date(2027, 2, 28)}, "waiting_last_after_first"),
        ({"minutes": 12}, "waiting_minutes_in_steps"),
        ({"part": "night"}, "waiting_part_is_known"),
        ({"is_urgent": True}, "waiting_urgent_by_somebody"),
        ({"outcome": "gone", "reason": "Moved away"}, "waiting_closed_with_outcome"),
        ({"outcome": "gone", "closed_at": timezone.now()}, "waiting_closed_with_outcome"),
        ({"outcome": "booked", "closed_at": timezone.now()}, "waiting_closed_with_outcome"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_database_refuses_an_entry_that_cannot_be(wait, fields, rule):
    entry = wait("First")
    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        WaitingEntry.objects.filter(pk=entry.pk).update(**fields)


def test_the_database_refuses_a_second_entry_of_the_kind(wait, desk):
    entry = wait("First")
    entry.pk = None
    with (
        pytest.raises(IntegrityError, match=r"waiting_once_a_kind|patient_id"),
        transaction.atomic(),
    ):
        WaitingEntry.objects.bulk_create([entry])
    with pytest.raises(AlreadyWaiting):
        add_entry(entry=entry, actor=desk)


def test_the_database_keeps_one_freed_time_of_a_person_and_start(wait, freed):
    freed.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        FreedTime.objects.bulk_create([freed])
    with pytest.raises(IntegrityError, match="freed_time_takes_time"), transaction.atomic():
        FreedTime.objects.update(minutes=0)


def test_the_database_lets_an_offer_be_answered_once(wait, desk, freed):
    wait("First")
    offer = offer_time(freed=freed, actor=desk)
    with pytest.raises(IntegrityError, match="stays as it was made"), transaction.atomic():
        Offer.objects.update(offered_at=timezone.now() + timedelta(days=1))
    with pytest.raises(IntegrityError, match="offer_answered_by_a_word"), transaction.atomic():
        Offer.objects.update(answer="declined")
    accept(offer)
    with pytest.raises(IntegrityError, match="was answered"), transaction.atomic():
        Offer.objects.update(answer="expired")
    with pytest.raises(IntegrityError, match="stays in the record"), transaction.atomic():
        Offer.objects.all()._raw_delete("default")


def test_the_database_keeps_one_open_offer_of_an_entry(wait, desk, freed, injector):
    offer = offer_time(freed=freed, entry=wait("First"), actor=desk)
    other = make_appointment(desk, offer.entry.patient, injector, "2027-03-04 10:00", kind="call")
    offer.pk, offer.appointment = None, other
    with pytest.raises(IntegrityError, match=r"offer_one_open|entry_id"), transaction.atomic():
        Offer.objects.bulk_create([offer])
