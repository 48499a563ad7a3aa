from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.quarantine.services import quarantine_lot
from records.trace.views import lots as views
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)
from tests.pdf import page_texts, pdf_text


def search(client, **typed):
    return client.get(reverse("trace"), typed)


def test_owner_finds_where_a_lot_went(lot, owner, signed_in):
    page = search(signed_in(owner), lot="LOT42")

    assert page.status_code == 200
    assert page.context["summary"] == (2, 2, 3, 1_000)
    for words in [
        "Ann Example",
        "Bea Example",
        "Zygomatic region",
        "0.2\u00a0mL",
        "Supraperiosteal",
    ]:
        assert words in page.content.decode()
    assert [unit.remaining for unit in page.context["units"]] == [1_000, 500, 500]


def test_names_with_letters_of_other_alphabets_stand_where_they_are_looked_for(
    desk, injector, owner, lot, signed_in
):
    units = make_units(owner, lot.product, number=lot.number, quantity=2)
    for name, unit in zip(("Walter West", "Łucja Kowal"), units, strict=True):
        session = make_session_with_unit(injector, make_patient(desk, name), unit)
        make_point(session, unit, amount=100)
    context = search(signed_in(owner), lot="LOT42").context
    names = ["Ann Example", "Bea Example", "Łucja Kowal", "Walter West"]
    assert [patient.name for patient in context["reached"]] == names
    assert [points[0].patient_name for points in context["patients"]] == names


@pytest.mark.parametrize("route", ["trace-lot", "trace-csv", "trace-pdf"])
@pytest.mark.parametrize("who", ["desk", "injector"])
def test_only_the_owner_may_see_a_trace(lot, who, route, request, signed_in):
    client = signed_in(request.getfixturevalue(who))
    assert client.get(reverse(route, args=[lot.pk])).status_code == 403
    assert search(client, lot="LOT42").status_code == 403
    assert not AuditEvent.objects.filter(action__startswith="lot.trace").exists()


@pytest.mark.parametrize("route", ["trace-lot", "trace-csv", "trace-pdf"])
def test_unknown_id_and_wrong_method(lot, route, owner, signed_in):
    client = signed_in(owner)
    assert client.get(reverse(route, args=[lot.pk + 100])).status_code == 404
    assert client.post(reverse(route, args=[lot.pk])).status_code == 405
    assert client.post(reverse("trace")).status_code == 405


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"lot": ""}, "lot", "Type the lot number as it is printed on the box."),
        ({"lot": "LOT43"}, "lot", "No lot LOT43 is on record."),
        ({"lot": "LOT 42"}, "lot", "does not hold a blank"),
        ({"lot": "L" * 21}, "lot", "at most 20 characters; this one has 21"),
        ({"lot": "LOT42\x00"}, "lot", "A lot number does not hold"),
        ({"lot": "LOT42", "gtin": "9521234543210"}, "gtin", "should be 3, not 0"),
        ({"lot": "LOT42", "gtin": "1" * 30}, "gtin", "this one has 30"),
        ({"lot": "LOT42", "gtin": "09520000000011"}, "lot", "of GTIN 09520000000011"),
    ],
)
def test_bad_input_is_kept_and_says_what_to_do(lot, owner, signed_in, typed, field, says):
    page = search(signed_in(owner), **typed)

    assert page.status_code == 200
    assert says in page.context["form"].errors[field][0]
    for value in typed.values():
        assert f'value="{value}"' in page.content.decode() or not value
    assert "Ann Example" not in page.content.decode()


def test_number_of_two_products_offers_both_and_merges_nothing(lot, namesake, owner, signed_in):
    client = signed_in(owner)
    page = search(client, lot="LOT42")

    assert list(page.context["candidates"]) == [lot, namesake]
    assert "Ann Example" not in page.content.decode()
    for one, points in [(lot, 3), (namesake, 0)]:
        link = reverse("trace-lot", args=[one.pk])
        assert f'href="{link}"' in page.content.decode()
        assert client.get(link).context["summary"].points == points
    short = search(client, lot="LOT42", gtin="9521234543213")
    assert short.context["lot"] == lot


def test_a_product_without_gtin_can_be_chosen_too(lot, owner, signed_in):
    plain = make_units(owner, make_product("HA filler plain"), number="LOT42")[0].lot
    page = search(signed_in(owner), lot="LOT42")
    assert f'href="{reverse("trace-lot", args=[plain.pk])}"' in page.content.decode()


@pytest.mark.parametrize("typed", ["lot42", "L0T42", "LOT042"])
def test_numbers_that_look_alike_are_offered(lot, owner, signed_in, typed):
    """Source: record-keeping reference, section 4: near-duplicates are shown, never merged."""
    page = search(signed_in(owner), lot=typed)
    assert list(page.context["alike"]) == [lot]
    assert "Easily taken for it: LOT42." in page.context["form"].errors["lot"][0]


def test_a_trace_names_the_lots_that_look_alike(lot, owner, signed_in):
    alike = make_units(owner, make_product("HA filler soft"), number="lot42")[0].lot
    page = search(signed_in(owner), lot="LOT42")

    assert page.context["summary"].points == 3
    assert list(page.context["alike"]) == [alike]
    shown = page.content.decode()
    assert shown.index(reverse("trace-lot", args=[alike.pk])) < shown.index("Ann Example")


def test_each_patient_stands_once_before_the_points(lot, owner, signed_in):
    """Whom to call is the first question; where each drop went is the second."""
    page = search(signed_in(owner), lot="LOT42")
    rows = [(row.name, row.sessions, row.points, row.amount) for row in page.context["reached"]]
    assert rows == [("Ann Example", 1, 2, 500), ("Bea Example", 1, 1, 500)]
    shown = page.content.decode()
    assert shown.index("Bea Example") < shown.index('id="points-heading"')


@pytest.fixture
def reachable(desk, injector, owner, lot):
    """Two more patients of the lot: one to phone, one who wants to be written to."""
    people = [
        ("Cora Example", {"phone": "07700 900123", "preferred_channel": "sms"}),
        ("Dina Example", {"email": "dina@mail.example", "preferred_channel": "email"}),
    ]
    units = make_units(owner, lot.product, number="LOT42", quantity=2)
    for (name, contact), unit in zip(people, units, strict=True):
        patient = make_patient(desk, name, birth_date=date(1971, 2, 3), **contact)
        make_point(make_session_with_unit(injector, patient, unit), unit, amount=700)
    return lot


def test_each_patient_s_phone_and_preferred_channel_are_shown(reachable, owner, signed_in):
    shown = search(signed_in(owner), lot="LOT42").content.decode()
    listed = shown[shown.index("Cora Example") : shown.index('id="points-heading"')]
    for words in (
        "07700 900123",
        "Prefers text message",
        "dina@mail.example",
        "Prefers e-mail",
        "no telephone noted",
    ):
        assert words in listed


def test_the_pdf_begins_with_whom_to_call(reachable, owner, signed_in):
    """Record number, name, date of birth, phone, preferred channel, points and total."""
    text = pdf_text(signed_in(owner).get(reverse("trace-pdf", args=[reachable.pk])).content)
    points = text.index("Plane, technique")
    row = text[text.index("Bea Example") : text.index("Dina Example")]
    for words in ("P000003", "3 Feb 1971", "07700 900123", "Text message", "1 0.7 mL"):
        assert words in row
    for name in ("Ann Example", "Bea Example", "Cora Example", "Dina Example"):
        assert text.index(name) < points < text.rindex(name)
    assert "dina@mail.example" in text[:points]


def test_unused_lot_says_so(namesake, owner, signed_in):
    page = signed_in(owner).get(reverse("trace-lot", args=[namesake.pk]))
    assert "No point of this lot is on record." in page.content.decode()


def test_quarantine_is_shown_with_its_reason(lot, owner, signed_in):
    quarantine_lot(lot=lot, reason="Maker’s notice of 20 November", actor=owner)
    client = signed_in(owner)
    assert "Maker’s notice of 20 November" in search(client, lot="LOT42").content.decode()
    assert "Maker’s notice" in pdf_text(client.get(reverse("trace-pdf", args=[lot.pk])).content)


def test_a_name_is_never_markup(desk, injector, owner, lot, signed_in):
    unit = lot.units.in_stock().get()
    patient = make_patient(desk, "<b>Bold</b> & Co")
    make_point(make_session_with_unit(injector, patient, unit), unit)
    assert (
        "&lt;b&gt;Bold&lt;/b&gt; &amp; Co" in search(signed_in(owner), lot="LOT42").content.decode()
    )


def test_the_same_queries_for_1_and_20_points(points_of_one_patient, owner, signed_in):
    client = signed_in(owner)
    counts = {}
    for points in (1, 20):
        address = reverse("trace-lot", args=[points_of_one_patient(points).pk])
        client.get(address)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(address).context["summary"].points == points
        counts[points] = len(queries)
    assert counts[1] == counts[20]


def test_page_stops_at_its_limit_and_says_where_the_rest_is(lot, owner, signed_in, monkeypatch):
    monkeypatch.setattr(views, "SHOWN_POINTS", 2)
    page = search(signed_in(owner), lot="LOT42")
    assert page.context["summary"].points == 3
    assert "The first 2 of 3 points are shown, by date; the CSV holds all of them." in (
        page.content.decode()
    )
    assert "Bea Example" not in page.content.decode().split('id="points-heading"')[1]
    assert "Bea Example" in page.content.decode()
    assert page.context["hidden_units"] == 1
    assert "1 more: <a" in page.content.decode()


def test_csv_is_streamed_under_a_plain_name(lot, owner, signed_in):
    response = signed_in(owner).get(reverse("trace-csv", args=[lot.pk]))
    assert response.streaming
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"] == f'attachment; filename="lot-LOT42-{lot.pk}.csv"'
    content = b"".join(response.streaming_content)
    # RFC 3629, section 6: EF BB BF is UTF-8's signature; spreadsheet programs ask for it.
    assert content.startswith(b"\xef\xbb\xbfproduct,gtin,lot,expiry,")
    lines = content.decode("utf-8-sig").splitlines()
    assert len(lines) == 4
    assert "Ann Example" in lines[1]


def test_pdf_holds_every_patient_and_counts_its_pages(lot, desk, injector, owner, signed_in):
    units = make_units(owner, lot.product, number="LOT42", quantity=40)
    for number, unit in enumerate(units):
        patient = make_patient(desk, f"Number{number:02} Example", birth_date=date(1970, 1, 1))
        make_point(make_session_with_unit(injector, patient, unit), unit)

    response = signed_in(owner).get(reverse("trace-pdf", args=[lot.pk]))
    assert response["Content-Type"] == "application/pdf"
    pages = page_texts(response.content)
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        assert "Lot LOT42" in page
        assert "GTIN 09521234543213" in page
        assert f"Page {number} of {len(pages)}" in page
        assert "by Olga Owner" in page
    whole = " ".join(pages)
    assert "42 patients, 42 sessions, 43 points, 9 mL" in whole
    for name in ["Ann Example", "Bea Example", *(f"Number{n:02} Example" for n in range(40))]:
        assert name in whole


def test_pdf_of_more_points_than_it_holds_leads_to_the_csv(lot, owner, signed_in, monkeypatch):
    monkeypatch.setattr(views, "PRINTED_POINTS", 2)
    page = signed_in(owner).get(reverse("trace-pdf", args=[lot.pk]), follow=True)
    assert page.redirect_chain == [(reverse("trace-lot", args=[lot.pk]), 302)]
    assert "Lot LOT42 has 3 points, and a PDF holds at most 2. Take the CSV" in (
        page.content.decode()
    )


@pytest.mark.parametrize(
    ("route", "action"),
    [("trace-lot", "lot.traced"), ("trace-csv", "lot.exported"), ("trace-pdf", "lot.printed")],
)
def test_who_read_the_trace_is_in_the_audit_trail(lot, owner, signed_in, route, action):
    signed_in(owner).get(reverse(route, args=[lot.pk]))
    event = AuditEvent.objects.first()
    assert (event.action, event.subject_id, event.actor) == (action, str(lot.pk), owner)
