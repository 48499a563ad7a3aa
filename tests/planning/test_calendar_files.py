"""
Calendar files against RFC 5545 and two parsers of other houses: vobject, and for zones dateutil.
"""

from datetime import UTC, datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil.tz import tzical

from planning.calendar_files import (
    CalendarFile,
    Entry,
    Invited,
    Method,
    Sender,
    Status,
    calendar_bytes,
    clock_changes,
    zone_rules,
)

LONDON = ZoneInfo("Europe/London")
PEOPLE = Sender('Klinik „Ö", Larkstone', "desk@clinic.example"), Invited("ann@mail.example")


def entry(starts_at: datetime = datetime(2026, 12, 1, 10, tzinfo=UTC), **fields) -> Entry:
    fields = {
        "uid": "8f2c", "said_at": datetime(2026, 11, 1, 9, tzinfo=UTC), "summary": "Appointment",
        **fields,
    }  # fmt: skip
    return Entry(starts_at=starts_at, ends_at=starts_at + timedelta(minutes=30), **fields)


def written(*entries: Entry, **fields) -> str:
    return calendar_bytes(CalendarFile(entries, LONDON, **fields)).decode()


def read(text: str):
    return vobject.readOne(text)


def unfolded(text: str) -> list[str]:
    """RFC 5545, section 3.1: a line end with a blank after it is no line end."""
    return text.replace("\r\n ", "").split("\r\n")


def test_text_is_escaped_as_the_standards_example():
    """RFC 5545, section 3.3.11, its example; the list of escapes in the same section."""
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    lines = unfolded(written(entry(description=text, location="a;b,c\\d")))
    assert r"DESCRIPTION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared." in lines
    assert r"LOCATION:a\;b\,c\\d" in lines


@pytest.mark.parametrize("sign", ["é", "한", "😀", "س"])
def test_lines_are_folded_at_75_octets_and_never_inside_a_sign(sign):
    """RFC 5545, section 3.1."""
    summary = f"x{sign * 120}"
    content = calendar_bytes(CalendarFile([entry(summary=summary)], LONDON))
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert all(line.decode() for line in content.split(b"\r\n")[:-1])
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert read(content.decode()).vevent.summary.value == summary


def test_another_parser_reads_the_invitation():
    """RFC 5546, section 3.2.2: what a REQUEST must hold."""
    text = written(
        entry(summary="Visit; at „Ö“, 2", sequence=3, location="1 Road\\Lane, Town"),
        people=PEOPLE, method=Method.REQUEST,
    )  # fmt: skip
    calendar = read(text)
    event = calendar.vevent
    assert calendar.method.value == "REQUEST"
    assert event.summary.value == "Visit; at „Ö“, 2"
    assert event.location.value == "1 Road\\Lane, Town"
    assert event.organizer.value == "mailto:desk@clinic.example"
    assert event.attendee.value == "mailto:ann@mail.example"
    assert (event.uid.value, event.sequence.value, event.status.value) == ("8f2c", "3", "CONFIRMED")
    assert event.dtstamp.value == datetime(2026, 11, 1, 9, tzinfo=UTC)
    assert event.dtstart.value == datetime(2026, 12, 1, 10, tzinfo=UTC)
    assert event.dtend.value - event.dtstart.value == timedelta(minutes=30)
    assert "DTSTART;TZID=Europe/London:20261201T100000" in unfolded(text)


def test_a_file_without_anybody_invited_names_nobody():
    text = written(entry(is_private=True, status=Status.TENTATIVE))
    lines = unfolded(text)
    assert "CLASS:PRIVATE" in lines
    assert "STATUS:TENTATIVE" in lines
    assert not [line for line in lines if line.startswith(("ATTENDEE", "ORGANIZER", "METHOD"))]


def test_an_invitation_without_people_is_refused():
    with pytest.raises(ValueError, match="names who invites"):
        CalendarFile([entry()], LONDON, method=Method.REQUEST)


def test_an_empty_diary_is_a_calendar():
    lines = unfolded(written(name="Ida", refresh=timedelta(minutes=30)))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert {"X-WR-CALNAME:Ida", "REFRESH-INTERVAL;VALUE=DURATION:PT30M"} <= set(lines)


def rules_of(zone: ZoneInfo, year: int) -> list[str]:
    rules = zone_rules(zone, datetime(year, 1, 1, tzinfo=UTC), datetime(year, 12, 31, tzinfo=UTC))
    return rules.to_ical().decode().split("\r\n")


def test_a_zone_is_told_as_the_standards_example_tells_it():
    """RFC 5545, section 3.6.5: New York from 2007, summer time from 11 March to 4 November."""
    lines = rules_of(ZoneInfo("America/New_York"), 2007)
    summer = lines.index("DTSTART:20070311T020000")
    assert lines[summer - 1] == "BEGIN:DAYLIGHT"
    assert {"TZOFFSETFROM:-0500", "TZOFFSETTO:-0400", "TZNAME:EDT"} <= set(lines[summer:][:4])
    winter = lines.index("DTSTART:20071104T020000")
    assert lines[winter - 1] == "BEGIN:STANDARD"
    assert {"TZOFFSETFROM:-0400", "TZOFFSETTO:-0500", "TZNAME:EST"} <= set(lines[winter:][:4])


def test_the_clock_changes_of_london():
    """IANA time zone database: 01:00 UTC on the last Sundays of October and March."""
    first, last = datetime(2026, 6, 1, tzinfo=UTC), datetime(2027, 6, 1, tzinfo=UTC)
    assert list(clock_changes(LONDON, first, last)) == [
        datetime(2026, 10, 25, 1, tzinfo=UTC), datetime(2027, 3, 28, 1, tzinfo=UTC),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["Europe/London", "America/New_York", "Australia/Lord_Howe"])
def test_each_hour_of_two_years_is_read_as_the_zone_has_it(name):
    """By dateutil's own reading of the rules; the two hours of one name in autumn aside."""
    zone = ZoneInfo(name)
    first, last = datetime(2026, 1, 1, tzinfo=UTC), datetime(2027, 12, 31, tzinfo=UTC)
    text = "BEGIN:VCALENDAR\r\n" + zone_rules(zone, first, last).to_ical().decode()
    told = tzical(StringIO(text + "END:VCALENDAR\r\n")).get()
    moment = first + timedelta(days=1)
    while moment < last:
        here = moment.astimezone(zone)
        is_twice = here.utcoffset() != here.replace(fold=1 - here.fold).utcoffset()
        if not is_twice:
            assert here.replace(tzinfo=told).utcoffset() == here.utcoffset(), here
        moment += timedelta(hours=1)


@pytest.mark.parametrize(
    ("starts_at", "told"),
    [
        # A day before and at ten on the day of each change: London is at +01:00, then at UTC.
        (datetime(2026, 10, 24, 9, tzinfo=UTC), "20261024T100000"),
        (datetime(2026, 10, 25, 10, tzinfo=UTC), "20261025T100000"),
        (datetime(2027, 3, 27, 10, tzinfo=UTC), "20270327T100000"),
        (datetime(2027, 3, 28, 9, tzinfo=UTC), "20270328T100000"),
    ],
)
def test_ten_o_clock_stays_ten_across_both_changes(starts_at, told):
    text = written(entry(starts_at))
    assert f"DTSTART;TZID=Europe/London:{told}" in unfolded(text)
    assert read(text).vevent.dtstart.value == starts_at
