"""Finding lots by what is known of them."""

import csv
from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.quarantine.services import quarantine_lot
from planning.scan import read_scan
from planning.vocabulary import ProductKind
from records.sessions.services.tray import put_on_tray
from records.trace.queries import TraceSummary
from records.trace.queries.search import LotSearch, found_lots, found_points
from records.trace.views import search as views
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    make_user,
)

MARCH, APRIL = (datetime(2026, month, 10, 12, tzinfo=UTC) for month in (3, 4))


@pytest.fixture
def second(db):
    return make_user("second", is_injector=True)


@pytest.fixture
def lots(desk, injector, second, owner):
    """
    A7 of a filler: Ann in March and April by Ida, Bea in April by Second.
    A7 of a toxin, unused. K1 of another maker: Bea in March by Second.
    """
    ann, bea = make_patient(desk, "Ann Example"), make_patient(desk, "Bea Example")
    filler = make_product(gtin="09521234543213")
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0
    )
    other = make_product("Soft filler", maker="Other Maker")
    first, again, _ = make_units(
        owner, filler, number="A7", quantity=3, expires_on=date(2027, 5, 31)
    )
    make_units(owner, toxin, number="A7", quantity=1, expires_on=date(2028, 1, 31))
    (soft,) = make_units(owner, other, number="K1", quantity=1, expires_on=date(2027, 12, 31))
    treated(ann, injector, first, MARCH, 100, 200)
    treated(ann, injector, first, APRIL, 300)
    treated(bea, second, again, APRIL, 400)
    treated(bea, second, soft, MARCH, 50)
    return {(lot.product.name, lot.number): lot for lot in LotSearch().lots}


def treated(patient, by, unit, at, *amounts):
    session = make_session(by, patient, started_at=at, late_reason="Written down later")
    put_on_tray(session=session, unit=unit, actor=by, opened_at=at)
    for amount in amounts:
        make_point(session, unit, amount=amount)
    patient.sessions.filter(pk=session.pk).update(signed_at=at, signed_by=by)


def reached(**known) -> dict[tuple[str, str], TraceSummary]:
    search = LotSearch(**known)
    found = found_lots(search, list(search.lots.values_list("pk", flat=True)))
    return {(row.lot.product.name, row.lot.number): row.reach for row in found}


FILLER, TOXIN, SOFT = ("HA filler 1 mL", "A7"), ("Toxin 100 units", "A7"), ("Soft filler", "K1")


def test_a_number_of_two_products_is_two_lots(lots):
    assert reached(number="A7") == {FILLER: (2, 3, 4, 1_000), TOXIN: (0, 0, 0, 0)}


@pytest.mark.parametrize(
    ("known", "found"),
    [
        ({"gtin": "09521234543213"}, {FILLER}),
        ({"maker": "Other Maker"}, {SOFT}),
        ({"expires_from": date(2027, 12, 31)}, {TOXIN, SOFT}),
        ({"expires_to": date(2027, 12, 31)}, {FILLER, SOFT}),
        ({"expires_from": date(2027, 5, 31), "expires_to": date(2027, 5, 31)}, {FILLER}),
        ({"number": "A7", "maker": "Other Maker"}, set()),
        ({"number": "a7"}, set()),
    ],
)
def test_what_is_known_of_the_lot_narrows_the_list(lots, known, found):
    assert set(reached(**known)) == found


def test_a_product_narrows_the_list(lots):
    assert set(reached(product_id=lots[TOXIN].product_id)) == {TOXIN}


def test_days_of_treatment_count_only_their_points(lots):
    in_march = {"treated_from": date(2026, 3, 1), "treated_to": date(2026, 3, 10)}
    assert reached(**in_march) == {FILLER: (1, 1, 2, 300), SOFT: (1, 1, 1, 50)}


def test_an_injector_counts_only_their_points(lots, second):
    by_second = {"injector": second, "treated_from": date(2026, 3, 11)}
    assert reached(**by_second) == {FILLER: (1, 1, 1, 400)}


def test_days_are_those_of_the_clinic_s_clock(lots, desk, injector):
    """00:30 in summer time is 23:30 of the day before in UTC."""
    unit = lots[FILLER].units.latest("id")
    patient = make_patient(desk, "Cy Example")
    treated(patient, injector, unit, datetime(2026, 6, 1, 23, 30, tzinfo=UTC), 10)
    assert reached(treated_from=date(2026, 6, 2), treated_to=date(2026, 6, 2)) == {
        FILLER: (1, 1, 1, 10)
    }
    assert reached(treated_from=date(2026, 6, 1), treated_to=date(2026, 6, 1)) == {}


def test_points_of_the_export_are_those_counted(lots, second):
    for known in ({"number": "A7"}, {"maker": "Other Maker"}, {"injector": second}):
        points = list(found_points(LotSearch(**known)))
        counted = reached(**known)
        assert len(points) == sum(reach.points for reach in counted.values()) > 0
        assert {(head.product, head.number) for head, _ in points} == {
            lot for lot, reach in counted.items() if reach.points
        }
        assert sum(row.amount for _, row in points) == sum(r.amount for r in counted.values())


def ask(client, **typed):
    return client.get(reverse("trace"), typed)


def test_the_page_lists_the_lots_with_the_way_to_each_trace(lots, owner, signed_in):
    quarantine_lot(lot=lots[SOFT], reason="Maker’s letter", actor=owner)
    page = ask(signed_in(owner), expires_from="2026-01-01")

    shown = page.content.decode()
    assert [row.lot for row in page.context["rows"]] == [lots[FILLER], lots[SOFT], lots[TOXIN]]
    for lot in lots.values():
        assert f'href="{reverse("trace-lot", args=[lot.pk])}"' in shown
    assert shown.count("another product has this number too") == 2
    assert shown.count("Quarantined") == 1
    assert "1\u00a0mL" in shown
    assert "Ann Example" not in shown


def test_the_page_says_which_points_are_counted(lots, owner, signed_in):
    client = signed_in(owner)
    words = "Counted are the points of the asked days and injector alone"
    asked = {"treated_from": "2026-03-01", "treated_to": "2026-03-31"}
    assert words in ask(client, **asked).content.decode()
    assert words not in ask(client, maker="Other Maker").content.decode()


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"page": "2"}, "lot", "Type the lot number as it is printed on the box."),
        ({"maker": "Nobody"}, "maker", "Nobody"),
        ({"product": "999999"}, "product", "valid choice"),
        ({"expires_from": "someday"}, "expires_from", "Type the day as 31/12/2026"),
        (
            {"expires_from": "2027-02-01", "expires_to": "2027-01-31"},
            "expires_to",
            "This day lies before the first one.",
        ),
        ({"treated_to": "2026-03-31"}, "treated_from", "Say from which day. Without a lot number"),
        ({"treated_from": "2020-01-01"}, "treated_from", "This is longer ago. Without a lot"),
        ({"gtin": "9521234543210"}, "gtin", "should be 3, not 0"),
    ],
)
def test_bad_input_says_what_to_do_and_nothing_typed_is_lost(
    lots, owner, signed_in, typed, field, says
):
    page = ask(signed_in(owner), **typed)
    assert page.status_code == 200
    assert says in page.context["form"].errors[field][0]
    assert "rows" not in page.context
    for name in typed.keys() - {"page", "maker", "product"}:
        assert f'value="{typed[name]}"' in page.content.decode()


def test_with_its_number_a_lot_is_searched_through_all_years(lots, owner, injector, signed_in):
    page = ask(signed_in(owner), lot="A7", treated_from="2001-01-01", injector=injector.pk)
    assert [row.reach for row in page.context["rows"]] == [(1, 2, 3, 600)]


@pytest.mark.parametrize("typed", ["K 1", "k1", "KI", "K-1", "K01"])
def test_a_number_written_differently_is_offered_never_traced(lots, owner, signed_in, typed):
    """Source: record-keeping reference, section 4: near-duplicates are shown, never merged."""
    for more in ({}, {"maker": "Other Maker"}):
        page = ask(signed_in(owner), lot=typed, **more)
        assert list(page.context["alike"]) == [lots[SOFT]]
        assert f'href="{reverse("trace-lot", args=[lots[SOFT].pk])}"' in page.content.decode()
        assert "summary" not in page.context
        assert not page.context.get("rows")


def test_the_number_of_another_product_than_the_gtin_s_is_offered(lots, owner, signed_in):
    page = ask(signed_in(owner), lot="K1", gtin="09521234543213")
    assert list(page.context["alike"]) == [lots[SOFT]]
    assert "summary" not in page.context


def test_nothing_fits_says_so(lots, owner, signed_in):
    page = ask(signed_in(owner), expires_to="2001-01-01")
    assert "No lot on record fits all of this." in page.content.decode()


def test_the_same_queries_for_one_lot_and_for_all_and_pages_of_a_fixed_size(
    lots, owner, signed_in, monkeypatch
):
    client = signed_in(owner)
    counts = []
    for typed in ({"maker": "Other Maker"}, {"expires_from": "2026-01-01"}):
        ask(client, **typed)
        with CaptureQueriesContext(connection) as queries:
            ask(client, **typed)
        counts.append(len(queries))
    assert counts[0] == counts[1]
    monkeypatch.setattr(views, "LOTS_PER_PAGE", 2)
    page = ask(client, expires_from="2026-01-01", page="2")
    assert [row.lot for row in page.context["rows"]] == [lots[TOXIN]]
    assert "3 to 3 of 3" in page.content.decode()


def test_csv_holds_every_point_of_every_lot_that_fits(lots, owner, signed_in):
    response = signed_in(owner).get(reverse("trace-search-csv"), {"expires_to": "2027-12-31"})
    assert response.streaming
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    lines = list(csv.DictReader(StringIO(text, newline="")))
    assert [(line["lot"], line["name"], line["amount"]) for line in lines] == [
        ("A7", "Ann Example", "0.1"),
        ("A7", "Ann Example", "0.2"),
        ("A7", "Ann Example", "0.3"),
        ("A7", "Bea Example", "0.4"),
        ("K1", "Bea Example", "0.05"),
    ]
    assert {line["expiry"] for line in lines} == {"2027-05-31", "2027-12-31"}


def test_what_was_exported_is_in_the_audit_trail(lots, owner, signed_in):
    signed_in(owner).get(reverse("trace-search-csv"), {"maker": "Other Maker", "lot": ""})
    event = AuditEvent.objects.first()
    assert (event.action, event.actor) == ("lots.exported", owner)
    assert event.data == '{"after":{"maker":"Other Maker"}}'


def test_a_refused_search_exports_nothing(lots, owner, signed_in):
    client = signed_in(owner)
    before = AuditEvent.objects.count()
    page = client.get(reverse("trace-search-csv"), {"lot": "K 1"})
    assert "does not hold a blank" in page.context["form"].errors["lot"][0]
    assert AuditEvent.objects.count() == before


@pytest.mark.parametrize("who", ["desk", "injector"])
def test_only_the_owner_searches(lots, who, request, signed_in):
    client = signed_in(request.getfixturevalue(who))
    for route in ("trace", "trace-search-csv"):
        assert client.get(reverse(route), {"maker": "Other Maker"}).status_code == 403
        assert client.post(reverse(route)).status_code == 403


GS = "\x1d"
BOX = "01095212345432131727053110A7"


@pytest.mark.parametrize(
    "code", [BOX, f"]d2{BOX}{GS}21SN-1", "(01)09521234543213(17)270531(10)A7", f" {BOX} "]
)
def test_a_code_scanned_into_the_number_s_field_is_taken_apart(lots, owner, signed_in, code):
    """Source: GS1 General Specifications, section 3 (AI 01, 10, 17, 21)."""
    page = ask(signed_in(owner), lot=code, gtin="09520000000004")
    assert page.context["lot"] == lots[FILLER]
    assert 'value="A7"' in page.content.decode()
    assert 'value="09521234543213"' in page.content.decode()


def test_a_code_without_a_lot_leads_to_the_lots_of_its_product(lots, owner, signed_in):
    page = ask(signed_in(owner), lot="0109521234543213")
    assert [row.lot for row in page.context["rows"]] == [lots[FILLER]]


def test_a_code_of_a_lot_nobody_received_is_not_traced(lots, owner, signed_in):
    page = ask(signed_in(owner), lot="(01)09521234543213(10)a7")
    assert "No lot a7 of GTIN 09521234543213" in page.context["form"].errors["lot"][0]
    assert lots[FILLER] in page.context["alike"]


def test_a_code_that_cannot_be_read_says_what_is_wrong_with_it(lots, owner, signed_in):
    wrong = "01095212345432141727053110A7"
    too_long, refused = ask(signed_in(owner), lot=wrong).context["form"].errors["lot"]
    assert "at most 20 characters" in too_long
    assert refused == read_scan(wrong, today=date(2026, 11, 30)).error


def test_a_lot_on_record_goes_before_any_reading(lots, owner, signed_in):
    (odd,) = make_units(owner, lots[SOFT].product, number="0109521234543213", quantity=1)
    assert ask(signed_in(owner), lot="0109521234543213").context["lot"] == odd.lot
