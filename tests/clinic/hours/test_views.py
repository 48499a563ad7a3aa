"""The owner's pages of working hours and absences, and the rule that nobody works twice at once."""

from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.hours.models import Absence, WorkingTime
from clinic.hours.services import end_working_time
from clinic.sites.models import Site
from tests.factories import (
    make_absence,
    make_appointment,
    make_patient,
    make_room,
    make_user,
    make_working_time,
)

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate
FIRST = date(2026, 1, 1)


@pytest.fixture
def site(db):
    return Site.objects.create(name="Harbour")


def typed(at: Site, **changes) -> dict:
    return {
        "weekdays": ["1", "3"], "starts": "09:00", "ends": "17:30", "break_starts": "13:00",
        "break_ends": "14:00", "site": at.pk, "from_on": "2026-01-01", "until_on": "", **changes,
    }  # fmt: skip


def add_url(person) -> str:
    return reverse("hours-add", args=[person.pk])


def edit_url(row: WorkingTime) -> str:
    return reverse("working-time-edit", args=[row.pk])


def rows() -> list[tuple]:
    found = WorkingTime.objects.order_by("weekday", "from_on", "starts")
    return [(one.weekday, f"{one.starts:%H:%M}", one.from_on, one.until_on) for one in found]


def test_hours_of_several_days_are_added_at_once_with_their_break(signed_in, owner, injector, site):
    client = signed_in(owner)
    assert client.post(add_url(injector), typed(site)).status_code == 302
    assert rows() == [
        (1, "09:00", FIRST, None), (1, "14:00", FIRST, None), (3, "09:00", FIRST, None),
        (3, "14:00", FIRST, None),
    ]  # fmt: skip
    assert AuditEvent.objects.filter(action="working_time.added", actor=owner).count() == 4
    for address in (reverse("hours-list"), reverse("hours-detail", args=[injector.pk])):
        page = client.get(address).content.decode()
        assert '<span class="num">14:00</span>–<span class="num">17:30</span>' in page


@pytest.mark.parametrize(
    ("change", "name", "words"),
    [
        ({"weekdays": []}, "weekdays", "at least one day"),
        ({"weekdays": ["8"]}, "weekdays", "not one of the available choices"),
        ({"starts": "nine"}, "starts", "Type the time as 09:30"),
        ({"starts": "09:02"}, "starts", "lie on 5 minutes"),
        ({"ends": "08:00"}, "ends", "after the start"),
        ({"break_ends": ""}, "break_ends", "both times of the break"),
        ({"break_starts": "08:00"}, "break_starts", "between 09:00 and 17:30"),
        ({"site": ""}, "site", "Site is required."),
        ({"until_on": "2025-01-01"}, "until_on", "before the first day"),
        ({"from_on": "soon"}, "from_on", "Type the day as"),
        ({"from_on": "1900-01-01"}, "from_on", "more than ten years back"),
        ({"weekdays": ["1", "7"]}, "weekdays", "The clinic is closed on Sundays."),
    ],
)
def test_hours_that_cannot_be_are_explained_on_their_field(
    signed_in, owner, injector, site, change, name, words
):
    answer = signed_in(owner).post(add_url(injector), typed(site, **change))
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors[name])
    assert not WorkingTime.objects.exists()


def test_hours_that_overlap_are_refused_in_words(signed_in, owner, injector, site):
    make_working_time(injector, site)
    answer = signed_in(owner).post(add_url(injector), typed(site))
    assert answer.status_code == 422
    assert (
        "There are hours already on Mondays from 09:00 to 17:00 at Harbour, from Thursday 1 "
        "January 2026 on." in answer.content.decode()
    )
    assert WorkingTime.objects.count() == 1


def test_another_person_day_or_span_does_not_overlap(owner, injector, site):
    make_working_time(injector, site, until_on=date(2026, 6, 30))
    make_working_time(injector, site, from_on=date(2026, 7, 1))
    make_working_time(injector, site, weekday=2)
    make_working_time(injector, site, starts=time(17), ends=time(18))
    make_working_time(make_user("locum", is_injector=True), site)
    assert WorkingTime.objects.count() == 5


def test_the_database_refuses_hours_that_overlap(owner, injector, site):
    first = make_working_time(injector, site, until_on=date(2026, 6, 30))
    later = make_working_time(injector, site, from_on=date(2026, 7, 1))
    with refused():
        make_working_time(injector, site, starts=time(16), ends=time(18))
    with refused():
        WorkingTime.objects.filter(pk=later.pk).update(from_on=date(2026, 6, 30))
    with refused():
        WorkingTime.objects.filter(pk=first.pk).update(until_on=None)


@contextmanager
def refused():
    with pytest.raises(IntegrityError, match="do not overlap"), transaction.atomic():
        yield


def test_a_change_from_today_on_leaves_what_was_worked_before(signed_in, owner, injector, site):
    row = make_working_time(injector, site)
    change = {"starts": "10:00", "ends": "17:00", "site": site.pk, "until_on": ""}
    form = signed_in(owner).get(edit_url(row)).context["form"]
    assert form["from_on"].value() == TODAY()
    signed_in(owner).post(edit_url(row), change | {"from_on": TODAY().isoformat()})
    assert rows() == [
        (1, "09:00", FIRST, TODAY() - timedelta(days=1)), (1, "10:00", TODAY(), None),
    ]  # fmt: skip


def test_a_change_from_the_first_day_on_is_a_correction(signed_in, owner, injector, site):
    row = make_working_time(injector, site)
    change = {"starts": "10:00", "ends": "17:00", "site": site.pk, "until_on": ""}
    signed_in(owner).post(edit_url(row), change | {"from_on": "2026-01-01"})
    assert rows() == [(1, "10:00", FIRST, None)]
    event = AuditEvent.objects.get(action="working_time.changed")
    assert event.data == '{"after":{"starts":"10:00:00"},"before":{"starts":"09:00:00"}}'


def test_a_change_into_other_hours_is_refused(signed_in, owner, injector, site):
    row = make_working_time(injector, site, ends=time(12))
    make_working_time(injector, site, starts=time(13))
    change = {"starts": "09:00", "ends": "14:00", "site": site.pk, "until_on": ""}
    answer = signed_in(owner).post(edit_url(row), change | {"from_on": TODAY().isoformat()})
    assert "hours already on Mondays from 13:00 to 17:00 at Harbour" in answer.content.decode()
    assert len(rows()) == 2, "nothing of it is done"


def test_hours_end_and_those_to_come_are_removed(signed_in, owner, injector, site):
    row = make_working_time(injector, site)
    later = make_working_time(injector, site, weekday=2, from_on=TODAY() + timedelta(days=9))
    for one in (row, later):
        signed_in(owner).post(reverse("working-time-end", args=[one.pk]))
    assert rows() == [(1, "09:00", FIRST, TODAY() - timedelta(days=1))]
    end_working_time(time=row, last_on=TODAY(), actor=owner)
    assert rows() == [(1, "09:00", FIRST, TODAY() - timedelta(days=1))], "ended before"


def test_a_day_is_copied_to_others_instead_of_what_they_have(signed_in, owner, injector, site):
    make_working_time(injector, site, ends=time(12))
    make_working_time(injector, site, starts=time(13))
    make_working_time(injector, site, weekday=2, starts=time(8))
    url = reverse("hours-copy", args=[injector.pk])
    copied = {"weekday": "1", "to": ["2", "4"], "copied_from": "2026-09-01"}
    assert signed_in(owner).post(url, copied).status_code == 302
    day = date(2026, 9, 1)
    assert rows()[2:] == [
        (2, "08:00", FIRST, date(2026, 8, 31)), (2, "09:00", day, None), (2, "13:00", day, None),
        (4, "09:00", day, None), (4, "13:00", day, None),
    ]  # fmt: skip
    answer = signed_in(owner).post(url, copied | {"to": ["1"]})
    assert "other days" in str(answer.context["form"].errors["to"])


def away(who: str, **changes) -> dict:
    return {
        "who": who, "kind": "leave", "first_day": "2031-03-03", "first_time": "",
        "last_day": "2031-03-04", "last_time": "", "note": "", **changes,
    }  # fmt: skip


NEW = reverse("absence-create")


def test_leave_of_whole_days_ends_at_midnight(signed_in, owner, injector):
    assert signed_in(owner).post(NEW, away(f"person-{injector.pk}")).status_code == 302
    absence = Absence.objects.get()
    assert absence.starts_at == datetime(2031, 3, 3, tzinfo=UTC)
    assert absence.ends_at == datetime(2031, 3, 5, tzinfo=UTC)
    assert AuditEvent.objects.filter(action="absence.saved", actor=owner).exists()
    url = reverse("absence-edit", args=[absence.pk])
    form = signed_in(owner).get(url).context["form"]
    assert form["last_day"].value() == date(2031, 3, 4)
    assert not form["last_time"].value()
    assert "Tue 4 Mar 2031" in signed_in(owner).get(reverse("absence-list")).content.decode()


def test_a_room_is_out_of_order_for_some_hours_and_can_be_used_again(signed_in, owner):
    room = make_room()
    hours = {"last_day": "2031-03-03", "first_time": "10:00", "last_time": "12:00"}
    signed_in(owner).post(NEW, away(f"room-{room.pk}", kind="out_of_order", **hours))
    absence = Absence.objects.get()
    assert (absence.room, absence.ends_at) == (room, datetime(2031, 3, 3, 12, tzinfo=UTC))
    assert "Room 1" in signed_in(owner).get(reverse("absence-list")).content.decode()
    signed_in(owner).post(reverse("absence-remove", args=[absence.pk]))
    assert not Absence.objects.exists()


@pytest.mark.parametrize(
    ("change", "name", "words"),
    [
        ({"who": ""}, "who", "is required"),
        ({"who": "person-999"}, "who", "not one of the available choices"),
        ({"last_day": "2031-03-02"}, "last_day", "before the first day"),
        ({"last_day": "2031-03-03", "first_time": "10:00", "last_time": "10:00"}, "last_time",
         "after the start"),
        ({"first_time": "10:01"}, "first_time", "lie on 5 minutes"),
        ({"kind": "out_of_order"}, "kind", "A person is not away for this. Choose “Leave” or"),
        ({"last_day": "2040-03-03"}, "last_day", "lasts at most a year"),
        ({"first_day": "2001-03-03", "last_day": "2001-03-05"}, "last_day", "Check the year"),
    ],
)  # fmt: skip
def test_an_absence_that_cannot_be_is_explained(signed_in, owner, injector, change, name, words):
    answer = signed_in(owner).post(NEW, away(f"person-{injector.pk}") | change)
    assert words in " ".join(answer.context["form"].errors[name])
    assert not Absence.objects.exists()


def test_a_room_is_not_on_leave_and_is_named_with_its_site(signed_in, owner):
    rooms = [make_room(site="Harbour"), make_room(site="Hill")]
    answer = signed_in(owner).post(NEW, away(f"room-{rooms[0].pk}"))
    form = answer.context["form"]
    assert form.errors["kind"] == ["A room is not away for this. Choose “Out of order” or “Other”."]
    assert "Room 1 (Hill)" in answer.content.decode()


def test_the_same_leave_twice_is_refused_and_being_ill_within_it_is_not(signed_in, owner, injector):
    client, sent = signed_in(owner), away(f"person-{injector.pk}")
    assert client.post(NEW, sent).status_code == 302
    (words,) = client.post(NEW, sent).context["form"].non_field_errors()
    assert words.startswith("Ida Injector is away then already: Leave, Monday 3 March 2031 to ")
    assert client.post(NEW, sent | {"kind": "sick"}).status_code == 302
    leave = Absence.objects.get(kind="leave")
    url = reverse("absence-edit", args=[leave.pk])
    assert client.post(url, sent | {"note": "Skiing"}).status_code == 302


def test_an_absence_that_is_over_is_listed_and_can_be_removed(signed_in, owner, injector):
    client, day = signed_in(owner), (TODAY() - timedelta(days=3)).isoformat()
    sent = away(f"person-{injector.pk}", kind="sick", first_day=day, last_day=day)
    page = client.post(NEW, sent, follow=True).content.decode()
    assert "It is over, and is listed under “Past absences”." in page
    remove = reverse("absence-remove", args=[Absence.objects.get().pk])
    assert f'action="{remove}"' in page
    assert 'aria-label="Past absences"' in page


def test_what_is_typed_for_an_absence_that_was_removed_meanwhile_is_kept(
    signed_in, owner, injector
):
    absence = make_absence(person=injector)
    url, client = reverse("absence-edit", args=[absence.pk]), signed_in(owner)
    absence.delete()
    answer = client.post(url, away(f"person-{injector.pk}", note="Skiing"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody removed this absence while the page was open." in page
    assert f'action="{NEW}"' in page
    assert 'value="Skiing"' in page
    assert client.get(url).status_code == 404


def test_leave_over_booked_visits_is_asked_about_once(signed_in, owner, injector):
    patient = make_patient(owner)
    make_appointment(owner, patient, injector, "2031-03-03 10:00")
    client, sent = signed_in(owner), away(f"person-{injector.pk}")
    answer = client.post(NEW, sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "1 visit is in the way" in page
    assert not Absence.objects.exists()
    form = answer.context["form"]
    assert patient.full_name in client.get(form.booked.address).content.decode()
    assert client.post(NEW, sent | {"confirmed": form.to_confirm}).status_code == 302
    # A tick for other days does not count.
    other = sent | {"confirmed": form.to_confirm, "first_day": "2031-03-02"}
    assert client.post(NEW, other).status_code == 422
    absence = Absence.objects.get()
    edit = client.post(reverse("absence-edit", args=[absence.pk]), sent | {"note": "Back soon"})
    assert edit.status_code == 422, "an absence that is changed asks as well"


def test_two_owners_at_one_absence_do_not_undo_each_other(signed_in, owner, injector):
    absence = make_absence(person=injector)
    url = reverse("absence-edit", args=[absence.pk])
    form = signed_in(owner).get(url).context["form"]
    shown = {f"initial-{name}": form[name].value() or "" for name in form.fields}
    sent = away(f"person-{injector.pk}", first_day="2031-02-03", last_day="2031-02-06")
    Absence.objects.update(note="Changed by the other one")
    assert signed_in(owner).post(url, shown | sent).status_code == 302
    absence.refresh_from_db()
    assert (absence.note, absence.ends_at.day) == ("Changed by the other one", 7)


def test_hours_on_a_day_the_clinic_closed_later_are_told_as_such(signed_in, owner, injector, site):
    make_working_time(injector, site, weekday=7)
    client = signed_in(owner)
    page = client.get(reverse("hours-list")).content.decode()
    assert "clinic closed" in page
    page = client.get(reverse("hours-detail", args=[injector.pk])).content.decode()
    assert "Not booked: the clinic is closed on Sundays." in page
    answer = client.post(
        reverse("hours-copy", args=[injector.pk]),
        {"weekday": "7", "to": ["6"], "copied_from": "2031-01-01"},
    )
    assert "closed on Saturdays" in answer.context["form"].errors["to"][0]


def test_the_desk_changes_no_hours(signed_in, desk, injector, site):
    assert signed_in(desk).post(add_url(injector), typed(site)).status_code == 403
    assert signed_in(desk).post(NEW, away(f"person-{injector.pk}")).status_code == 403


def test_the_week_of_more_people_asks_no_more(
    signed_in, owner, injector, site, django_assert_max_num_queries
):
    client = signed_in(owner)
    for number in range(3):
        make_working_time(make_user(f"locum {number}", is_injector=True), site)
    with django_assert_max_num_queries(6):
        client.get(reverse("hours-list"))
