"""`manage.py reviews_due`, for people and for programs."""

import io
import json
from datetime import date, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from records.reviews.services.acts import mark_done
from tests.factories import make_appointment, make_patient, make_review

pytestmark = pytest.mark.django_db
ON = date(2026, 12, 9)


def reviews_due(*arguments: str) -> str:
    out = io.StringIO()
    call_command("reviews_due", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def three_reviews(desk, injector, patient):
    """Overdue, due on the day and booked; and two that are not to be listed."""
    zoe = make_patient(desk, "Zoë Ó Briain")
    make_review(injector, zoe, ON)
    make_review(injector, patient, ON - timedelta(days=8))
    booked = make_review(injector, zoe, ON - timedelta(days=1))
    booked.appointment = make_appointment(desk, zoe, injector, "2026-12-09 16:00")
    booked.save(update_fields=["appointment"])
    make_review(injector, patient, ON + timedelta(days=1))
    mark_done(review=make_review(injector, patient, ON), actor=desk)


@pytest.mark.usefixtures("three_reviews")
def test_json_lists_what_is_due_oldest_first():
    answer = json.loads(reviews_due("--on", "2026-12-09", "--format", "json"))
    numbers = {"Ann Example": "P000001", "Zoë Ó Briain": "P000002"}
    expected = [
        ("Ann Example", "2026-12-01", "2026-12-08", "overdue"),
        ("Zoë Ó Briain", "2026-12-08", "2026-12-15", "booked"),
        ("Zoë Ó Briain", "2026-12-09", "2026-12-16", "due"),
    ]
    assert answer == {
        "on": "2026-12-09",
        "reviews": [
            {
                "record_number": numbers[name], "name": name, "kind": "review",
                "due": due, "target": due, "earliest": due, "latest": latest,
                "state": state, "standing": state, "moved_from": None,
                "rule": "14 days after the session (clinic policy)",
            }
            for name, due, latest, state in expected
        ],
    }  # fmt: skip


@pytest.mark.usefixtures("three_reviews")
def test_the_table_holds_the_same_rows():
    head, *rows = reviews_due("--on", "2026-12-09").splitlines()
    assert head.split() == ["due", "latest", "state", "kind", "record_number", "name"]
    assert [row.split()[:5] for row in rows] == [
        ["2026-12-01", "2026-12-08", "overdue", "review", "P000001"],
        ["2026-12-08", "2026-12-15", "booked", "review", "P000002"],
        ["2026-12-09", "2026-12-16", "due", "review", "P000002"],
    ]


def test_nothing_due_is_an_empty_list():
    answer = json.loads(reviews_due("--on", "2026-12-09", "--format", "json"))
    assert answer == {"on": "2026-12-09", "reviews": []}
    assert reviews_due("--on", "2026-12-09") == "No review is due on 2026-12-09.\n"


def test_without_a_day_it_is_today():
    assert json.loads(reviews_due("--format", "json"))["on"] == timezone.localdate().isoformat()


@pytest.mark.parametrize(
    ("day", "problem"),
    [
        ("tomorrow", "'tomorrow' is not a day. Write it as YYYY-MM-DD"),
        ("2026-02-30", "'2026-02-30' is not a day"),
        ("", "'' is not a day"),
        ("20261209", "write '20261209' as 2026-12-09"),
        ("0001-01-01", "the year 1 is out of range"),
        ("9999-12-31", "the year 9999 is out of range"),
    ],
)
def test_a_wrong_day_is_explained(day, problem):
    with pytest.raises(CommandError, match=problem):
        reviews_due("--on", day)
