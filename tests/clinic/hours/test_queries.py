"""
When people work. Clock changes of Europe/London: IANA tz database (25 October 2026, 28 March 2027).
Christmas Day and the Boxing Day holiday of 2026 (Monday 28 December): GOV.UK, bank holidays.
"""

from datetime import UTC, date, datetime, time

import pytest

from clinic.hours.models import Absence, WorkingTime
from clinic.hours.queries import day_shapes, room_why_not, rooms_away, why_not, working_spans
from clinic.policy.models import ClinicPolicy
from clinic.sites.models import Site
from planning.free_slots import cell_of
from tests.factories import make_closure, make_room, make_user

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 11, 30)


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def works(person, site, starts: str, ends: str, *, weekday: int = 1, **fields) -> WorkingTime:
    fields = {"from_on": date(2026, 1, 1), **fields}
    return WorkingTime.objects.create(
        person=person, site=site, weekday=weekday, starts=time.fromisoformat(starts),
        ends=time.fromisoformat(ends), **fields,
    )  # fmt: skip


def away(start: str, end: str, **fields) -> Absence:
    return Absence.objects.create(starts_at=utc(start), ends_at=utc(end), **fields)


@pytest.fixture
def site(db):
    return Site.objects.create(name="Harbour")


def spans(person, first: date = MONDAY, last: date | None = None) -> list[tuple]:
    found = working_spans([person], first, last or first)
    return [(span.site, span.start, span.end) for span in found]


def cells(start: str, end: str) -> tuple[int, int]:
    return cell_of(utc(start)), cell_of(utc(end))


def test_a_person_works_their_hours_of_the_weekday(injector, site):
    works(injector, site, "09:00", "13:00")
    works(injector, site, "14:00", "17:30")
    works(injector, site, "09:00", "13:00", weekday=2)
    assert spans(injector) == [
        (site.pk, *cells("2026-11-30 09:00", "2026-11-30 13:00")),
        (site.pk, *cells("2026-11-30 14:00", "2026-11-30 17:30")),
    ]


def test_hours_hold_from_their_first_to_their_last_day(injector, site):
    works(injector, site, "09:00", "13:00", from_on=MONDAY, until_on=MONDAY)
    assert spans(injector) != []
    assert spans(injector, date(2026, 11, 23)) == []
    assert spans(injector, date(2026, 12, 7)) == []


def test_whoever_has_no_hours_works_on_open_days_from_nine_to_five(injector, site):
    assert spans(injector, MONDAY, date(2026, 12, 6)) == [
        (site.pk, *cells(f"{day} 09:00", f"{day} 17:00"))
        for day in ("2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04")
    ]


def test_a_new_clinic_without_a_site_can_book(injector):
    assert spans(injector) == [(0, *cells("2026-11-30 09:00", "2026-11-30 17:00"))]


def test_leave_is_cut_out_and_what_is_left_is_whole_cells(injector):
    away("2026-11-30 08:00", "2026-11-30 10:02", person=injector)
    assert spans(injector) == [(0, *cells("2026-11-30 10:05", "2026-11-30 17:00"))]


def test_nobody_works_while_the_clinic_is_closed(injector, owner, site):
    works(injector, site, "09:00", "13:00")
    works(injector, site, "09:00", "13:00", weekday=6)
    assert spans(injector, date(2026, 12, 5)) == [], "a Saturday"
    make_closure(owner, starts_on=MONDAY, ends_on=MONDAY, reason="New floor")
    assert spans(injector) == []
    assert "New floor" in why_not(injector, utc("2026-11-30 09:00"))


def test_nobody_works_on_a_public_holiday(injector):
    ClinicPolicy.objects.create(holiday_country="GB", holiday_part="ENG")
    assert spans(injector, date(2026, 12, 28)) == []
    (span,) = day_shapes([injector], date(2026, 12, 25))[injector.pk]
    assert span.label == "The clinic is closed on Friday 25 December 2026 (Christmas Day)"


def test_nine_o_clock_is_nine_o_clock_on_both_sides_of_a_change(injector, site):
    """In October 09:00 is 08:00 UTC before the change; in March it is so after it."""
    ClinicPolicy.objects.create(open_weekdays=[6, 7])
    for weekday in (6, 7):
        works(injector, site, "09:00", "10:00", weekday=weekday)
    assert [span[1:] for span in spans(injector, date(2026, 10, 24), date(2026, 10, 25))] == [
        cells("2026-10-24 08:00", "2026-10-24 09:00"),
        cells("2026-10-25 09:00", "2026-10-25 10:00"),
    ]
    assert [span[1:] for span in spans(injector, date(2027, 3, 27), date(2027, 3, 28))] == [
        cells("2027-03-27 09:00", "2027-03-27 10:00"),
        cells("2027-03-28 08:00", "2027-03-28 09:00"),
    ]


def test_a_day_is_told_without_a_gap_and_with_its_reasons(injector, site):
    works(injector, site, "09:00", "13:00")
    works(injector, site, "14:00", "17:00")
    away("2026-11-30 16:00", "2026-12-02 00:00", person=injector, kind="training", note="Course")
    shape = day_shapes([injector], MONDAY)[injector.pk]
    assert [(span.label or span.shade.value, f"{span.start:%H:%M}") for span in shape] == [
        ("Not at work", "00:00"), ("working", "09:00"), ("Break", "13:00"), ("working", "14:00"),
        ("Training: Course", "16:00"),
    ]  # fmt: skip
    assert shape[-1].end == utc("2026-12-01 00:00")


@pytest.mark.parametrize(
    ("start", "end", "reason"),
    [
        ("2026-11-30 09:00", "2026-11-30 13:00", ""),
        ("2026-11-30 12:45", "2026-11-30 13:15", "Break"),
        ("2026-11-30 08:55", "2026-11-30 09:30", "Not at work"),
        ("2026-11-30 16:30", "2026-11-30 18:00", "Leave"),
        ("2026-11-29 09:00", "2026-11-29 09:30", "The clinic is closed on Sunday 29 November 2026"),
    ],
)  # fmt: skip
def test_why_a_time_is_not_offered(injector, site, start, end, reason):
    works(injector, site, "09:00", "13:00")
    works(injector, site, "14:00", "17:00")
    away("2026-11-30 16:00", "2026-12-02 00:00", person=injector)
    assert why_not(injector, utc(start), utc(end)) == reason


def test_a_room_out_of_order_is_not_offered(site):
    room = make_room(site="Harbour")
    assert room_why_not(room, utc("2026-11-30 09:00"), utc("2026-11-30 09:30")) == ""
    away("2026-11-30 09:12", "2026-11-30 10:00", room=room, kind="out_of_order", note="New floor")
    assert rooms_away([room], MONDAY, MONDAY) == {
        room.pk: [cells("2026-11-30 09:10", "2026-11-30 10:00")]
    }
    words = room_why_not(room, utc("2026-11-30 09:00"), utc("2026-11-30 09:30"))
    assert words == "Out of order: New floor"


def test_the_hours_of_more_people_and_days_ask_no_more(site, django_assert_num_queries):
    people = [make_user(f"injector {number}", is_injector=True) for number in range(3)]
    for person in people:
        works(person, site, "09:00", "17:00")
        away("2026-11-30 16:00", "2026-12-02 00:00", person=person)
    with django_assert_num_queries(4):
        working_spans(people[:1], MONDAY, MONDAY)
    with django_assert_num_queries(4):
        working_spans(people, MONDAY, date(2027, 1, 30))
