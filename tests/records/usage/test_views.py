import csv
import re
from datetime import date, timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planning.funnel import METHOD
from records.usage import views
from tests.factories import make_event

ROUTES = ["usage", "usage-csv", "usage-events", "usage-events-csv"]
SPRING = {"first": "2026-03-01", "last": "2026-05-31"}


def get(client, route, **asked):
    return client.get(reverse(route), SPRING | asked)


def lines_of(response) -> list[dict]:
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text, newline="")))


def test_the_page_shows_use_in_the_chosen_order(clinic, owner, signed_in):
    page = get(signed_in(owner), "usage", by="injector")
    shown = page.content.decode()
    assert page.context["totals"] == (3, 2, 5)
    assert shown.index("Ida Injector") < shown.index("Second")
    for words in ["0.6\u00a0mL", "25\u00a0units", "By injector", "for whoever recorded it"]:
        assert words in shown


def test_the_last_twelve_months_by_product_are_shown_unasked(clinic, owner, signed_in):
    page = signed_in(owner).get(reverse("usage"))
    period, today = page.context["form"].period, timezone.localdate()
    assert period.last == today
    assert period.first in {today - timedelta(days=364), today - timedelta(days=365)}
    assert [row.label for row in page.context["page_obj"]] == ["HA filler 1 mL", "Toxin 100 units"]
    assert f'value="{period.first}"' in page.content.decode()


def test_each_lot_leads_to_its_trace(clinic, owner, signed_in):
    shown = get(signed_in(owner), "usage", by="lot").content.decode()
    for lot in (clinic.a1, clinic.a2, clinic.t1):
        assert f'href="{reverse("trace-lot", args=[lot.pk])}"' in shown


@pytest.mark.parametrize(
    ("by", "columns", "first"),
    [
        ("product", ["product"], ["HA filler 1 mL", "2", "2", "4", "1", "0.05", "mL"]),
        ("lot", ["product", "lot"], ["HA filler 1 mL", "A1", "1", "1", "3", "0.6", "0.05", "mL"]),
        (
            "injector",
            ["injector", "product"],
            ["Ida Injector", "HA filler 1 mL", "1", "1", "3", "0.6", "0.05", "mL"],
        ),
        (
            "month",
            ["month", "product"],
            ["May 2026", "Toxin 100 units", "1", "1", "1", "25", "5", "units"],
        ),
    ],
)
def test_csv_holds_the_same_lines(clinic, owner, signed_in, by, columns, first):
    response = get(signed_in(owner), "usage-csv", by=by)
    line = lines_of(response)[0]
    assert list(line) == [*columns, "opened", "patients", "points", "given", "wasted", "unit"]
    assert list(line.values()) == first
    name = f'filename="use-by-{by}-2026-03-01-2026-05-31.csv"'
    assert name in response["Content-Disposition"]


def test_events_are_shown_as_plot_and_table(clinic, owner, injector, signed_in):
    make_event(injector, clinic.ann, lot=clinic.a1)
    shown = get(signed_in(owner), "usage-events").content.decode()
    assert "All lots together: 1 of 3 treated, 33.3\u00a0%" in shown
    assert METHOD in shown
    assert "Of 3 lots looked at, chance alone puts less than one beyond the 95 % limits" in shown
    assert "Wilson, J Am Stat Assoc 1927" in shown
    assert len(re.findall(r'class="funnel__lot funnel__lot--inside" transform', shown)) == 2
    # One of one, Wilson 95 %: 20.6549 to 100 (a statistics library, statsmodels).
    assert "20.7 to 100.0\u00a0%" in shown
    assert shown.count("Within what chance allows") == 3


def test_the_plot_is_drawn_without_style_and_with_words(clinic, owner, injector, signed_in):
    make_event(injector, clinic.ann, lot=clinic.a1)
    shown = get(signed_in(owner), "usage-events").content.decode()
    svg = shown[shown.index("<svg viewBox=") : shown.index("</figure>")]
    assert "style=" not in svg
    assert "Patients treated with the lot" in svg
    assert '<desc id="funnel-summary">' in svg
    assert re.search(r"<title>A1: 1 of 1</title>", svg)


@pytest.mark.parametrize(
    ("with_event", "asked", "words"),
    [
        (False, {}, "None is recorded for a patient who got one of these lots"),
        (True, {"first": "2026-03-01", "last": "2026-03-31"}, "Nothing to compare with"),
        (True, {"first": "2020-01-01", "last": "2020-12-31"}, "Nobody was treated"),
    ],
)
def test_where_nothing_can_be_drawn_a_sentence_says_why(
    clinic, owner, injector, signed_in, with_event, asked, words
):
    if with_event:
        make_event(injector, clinic.ann, lot=clinic.a1)
    shown = get(signed_in(owner), "usage-events", **asked).content.decode()
    assert words in shown
    assert "funnel__scroll" not in shown
    assert "Within what chance allows" not in shown


def test_events_csv_has_the_figures_of_each_lot(clinic, owner, injector, signed_in):
    make_event(injector, clinic.ann, lot=clinic.a1)
    lines = {line["lot"]: line for line in lines_of(get(signed_in(owner), "usage-events-csv"))}
    assert set(lines) == {"A1", "A2", "T1"}
    a1 = lines["A1"]
    assert (a1["patients"], a1["patients_with_event"], a1["percent"]) == ("1", "1", "100.000")
    assert (a1["percent_from"], a1["percent_to"]) == ("20.655", "100.000")
    assert (a1["verdict"], a1["chance"]) == ("Within what chance allows", "0.333333")
    # 0 of 1: Wilson 0 to 79.3451 (statsmodels).
    assert (lines["A2"]["percent_from"], lines["A2"]["percent_to"]) == ("0.000", "79.345")


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize(
    ("asked", "field", "says"),
    [
        ({"first": "someday"}, "first", "Type the day as 31/12/2026"),
        ({"last": "2026-02-28"}, "last", "This day lies before the first one."),
        ({"first": "2020-01-01"}, "first", "Ask for three years at most"),
        ({"product": "999999"}, "product", "valid choice"),
    ],
)
def test_bad_input_counts_nothing_and_says_what_to_do(
    clinic, owner, signed_in, route, asked, field, says
):
    page = get(signed_in(owner), route, **asked)
    assert page.status_code == 200
    assert says in page.context["form"].errors[field][0]
    assert "page_obj" not in page.context
    if field != "product":
        assert f'value="{asked[field]}"' in page.content.decode()


def test_an_unknown_way_to_add_up_is_refused(clinic, owner, signed_in):
    page = get(signed_in(owner), "usage", by="moon")
    assert "moon" in page.context["form"].errors["by"][0]


def test_nothing_used_says_so(owner, signed_in):
    shown = get(signed_in(owner), "usage").content.decode()
    assert "Nothing was used" in shown


@pytest.mark.parametrize("route", ROUTES)
def test_only_the_owner_reads_it_and_nobody_posts(clinic, route, desk, injector, owner, signed_in):
    for person in (desk, injector):
        assert get(signed_in(person), route).status_code == 403
    assert signed_in(owner).post(reverse(route)).status_code == 405


def test_long_tables_come_in_pages(clinic, owner, injector, signed_in, monkeypatch):
    monkeypatch.setattr(views, "ROWS_PER_PAGE", 2)
    monkeypatch.setattr(views, "LOTS_PER_PAGE", 2)
    make_event(injector, clinic.ann, lot=clinic.a1)
    client = signed_in(owner)
    for route in ("usage", "usage-events"):
        page = get(client, route, by="lot", page="2")
        assert len(page.context["page_obj"].object_list) == 1
        assert "3 to 3 of 3" in page.content.decode()
        assert "first=2026-03-01" in page.content.decode()


def test_the_same_queries_for_one_day_and_for_all(clinic, owner, injector, signed_in):
    make_event(injector, clinic.ann, lot=clinic.a1)
    client = signed_in(owner)
    day = date(2026, 3, 10).isoformat()
    for route in ("usage", "usage-events"):
        counts = []
        for asked in ({"first": day, "last": day}, {}):
            get(client, route, by="lot", **asked)
            with CaptureQueriesContext(connection) as queries:
                get(client, route, by="lot", **asked)
            counts.append(len(queries))
        assert counts[0] == counts[1]
