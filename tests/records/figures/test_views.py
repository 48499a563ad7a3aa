"""The owner's page of figures and its file."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.urls import reverse
from django.utils import timezone

from planning.stretches import Span, latest

LAST_MONTH = next(latest(timezone.localdate(), Span.MONTH, 1)).before()
PAGE, FILE = reverse("figures"), reverse("figures-csv")


def rows_of(response) -> list[dict[str, str]]:
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text, newline="")))


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


def test_the_last_whole_month_is_shown_unasked(client, visits):
    visits("done", 9, LAST_MONTH.first)
    visits("did_not_attend", 1, LAST_MONTH.first + timedelta(days=12))
    page = client.get(PAGE)
    assert page.context["asked"].stretch == LAST_MONTH
    no_shows = page.context["cards"][1]
    assert (no_shows.main, no_shows.before) == ("10.0\u00a0%", "–")
    assert no_shows.subs == ("1 of 10", "1.8\u00a0%\u00a0to\u00a040.4\u00a0%")
    text = page.content.decode()
    assert text.count(no_shows.main) >= 3  # the value, the line of the injector, and of all
    assert f"{LAST_MONTH.label}: {no_shows.main} (1 of 10" in text
    assert "visits to which the patient did not come" in text
    assert "Wilson, J Am Stat Assoc" in text
    assert "Kaplan and Meier" in text


def test_below_five_the_page_counts_and_gives_no_percentage(client, visits):
    visits("done", 2, LAST_MONTH.first)
    visits("did_not_attend", 1, LAST_MONTH.first + timedelta(days=5))
    no_shows = client.get(PAGE).context["cards"][1]
    assert (no_shows.main, no_shows.subs) == ("1 of 3", ("fewer than 5",))


def test_visits_nobody_marked_are_pointed_out(client, visits):
    visits("booked", 2, LAST_MONTH.first)
    assert "Of 2 past visits of these days nobody has said" in client.get(PAGE).content.decode()


def test_nothing_on_record_is_said(client):
    assert "Nothing to count" in client.get(PAGE).content.decode()


@pytest.mark.parametrize(
    ("asked", "field", "message"),
    [
        ({"days": "1999-01"}, "days", "Select a valid choice"),
        ({"days": "days"}, "first", "Give this day, or choose a month"),
        ({"first": "2026-02-02"}, "last", "Give this day, or choose a month"),
        ({"first": "2026-02-02", "last": "2026-02-01"}, "last", "lies before the first one"),
        ({"first": "2020-02-02", "last": "2026-02-01"}, "first", "three years at most"),
        ({"first": "2999-02-02", "last": "2999-02-03"}, "first", "still to come"),
        ({"by": "colour"}, "by", "Select a valid choice"),
        ({"person": "4711"}, "person", "Select a valid choice"),
    ],
)
@pytest.mark.parametrize("url", [PAGE, FILE])
def test_what_cannot_be_asked_is_told_on_its_field(client, url, asked, field, message):
    page = client.get(url, asked)
    assert message in str(page.context["form"].errors[field])
    assert "cards" not in page.context


def test_the_file_holds_parts_and_wholes(client, visits, injector):
    injector.full_name = "=SUM(A1)"
    injector.save()
    visits("done", 9, LAST_MONTH.first)
    visits("did_not_attend", 1, LAST_MONTH.first + timedelta(days=12))
    response = client.get(FILE)
    name = f'attachment; filename="front-desk-{LAST_MONTH.first}-{LAST_MONTH.last}.csv"'
    assert response["Content-Disposition"] == name
    rows = [row for row in rows_of(response) if row["figure"] == "no_shows"]
    now = {"first_day": str(LAST_MONTH.first), "part": "1", "whole": "10", "value": "10.000"}
    assert [row["of"] for row in rows] == ["All", "All", "'=SUM(A1)", "'=SUM(A1)"]
    assert now.items() <= rows[0].items()
    assert now.items() <= rows[2].items()
    assert (rows[1]["whole"], rows[1]["value"]) == ("0", "")


def test_the_file_names_what_is_counted_and_holds_all_that_the_page_counts(client, visits):
    visits("done", 3, LAST_MONTH.first)
    visits("booked", 2, LAST_MONTH.first + timedelta(days=5))
    rows = [row for row in rows_of(client.get(FILE)) if row["of"] == "All"]
    now = {row["figure"]: row for row in rows if row["first_day"] == str(LAST_MONTH.first)}
    assert {name: row["counted_in"] for name, row in now.items() if row["counted_in"]} == {
        "utilisation": "minutes", "no_shows": "visits", "late_cancellations": "visits",
        "reviews_in_time": "reviews", "days_to_review": "treatments",
    }  # fmt: skip
    assert {name: (row["value"], row["unit"]) for name, row in now.items()
            if not row["counted_in"]} == {
        "took_place": ("3", "visits"), "cancelled_earlier": ("0", "visits"),
        "not_marked": ("2", "visits"), "reviews_done_late": ("0", "reviews"),
        "reviews_still_open": ("0", "reviews"), "reviews_excused": ("0", "reviews"),
    }  # fmt: skip


def test_a_year_is_drawn_with_all_its_months(client, visits):
    year = next(latest(timezone.localdate(), Span.YEAR, 1)).before()
    visits("done", 7, year.first)
    page = client.get(PAGE, {"days": year.key, "by": "kind"})
    assert [label for label, _ in page.context["visits"]] == ["Treatment"]
    months = page.context["cards"][1].plot
    assert months.band is not None
