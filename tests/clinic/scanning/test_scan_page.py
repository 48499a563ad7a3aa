"""The page that says what a code is and where to go with it."""

import re
from datetime import date
from urllib.parse import parse_qs, urlsplit

import pytest
import time_machine
from django.urls import reverse

from clinic.quarantine.services import quarantine_lot
from tests.factories import make_product, make_units
from tests.scan_cases import GTIN, TODAY, G, P

pytestmark = pytest.mark.django_db
CODE = f"{P}1727113010LOT42"


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(TODAY, tick=False):
        yield


@pytest.fixture
def scan(client):
    """`scan(person, text)`: the page after the code was sent."""

    def send(person, text: str):
        client.force_login(person)
        return client.get("/scanning/", {"scan": text})

    return send


def links(page) -> set[str]:
    """Addresses of the acts under what the code says."""
    html = page.content.decode()
    return set(re.findall(r'<a [^>]*href="([^"]+)"', html.split('id="pack-title"')[1]))


@pytest.fixture
def product(db):
    return make_product("Linden Soft", gtin=GTIN)


@pytest.fixture
def lot(owner, product):
    return make_units(owner, product, number="LOT42", expires_on=date(2027, 11, 30))[0].lot


def test_empty_page_asks_for_a_code(client, injector):
    client.force_login(injector)
    page = client.get("/scanning/").content.decode()
    assert "Scan or type the code" in page
    assert 'class="panel pack"' not in page


def test_known_lot_leads_to_its_pages(scan, owner, lot):
    page = scan(owner, CODE)
    assert page.context["pack"].lot == lot
    assert '<p class="pack__lot">LOT42</p>' in page.content.decode()
    assert links(page) >= {
        reverse("lot-detail", args=[lot.pk]),
        reverse("trace-lot", args=[lot.pk]),
        reverse("product-edit", args=[lot.product.pk]),
    }


def test_injector_is_offered_no_page_of_the_owner(scan, injector, lot):
    assert links(scan(injector, CODE)) == {reverse("lot-detail", args=[lot.pk])}


def test_unknown_lot_of_a_known_product_is_received_with_the_code(scan, owner, product):
    text = f"{P}10LOT42{G}17271130"
    page = scan(owner, text)
    receive = urlsplit(page.context["receive_url"])
    assert receive.path == reverse("receiving")
    assert parse_qs(receive.query) == {"scan": [text]}
    assert reverse("receiving") in {urlsplit(link).path for link in links(page)}


def test_unknown_lot_sends_the_injector_to_the_owner(scan, injector, product):
    page = scan(injector, CODE)
    assert links(page) == set()
    assert "the practice owner receives it" in page.content.decode()


def test_unknown_product_is_made_with_its_number_filled_in(scan, owner, client):
    page = scan(owner, CODE)
    assert "A product that is not in the list" in page.content.decode()
    (create,) = {link for link in links(page) if "products/new" in link}
    form = client.get(create).context["form"]
    assert form["gtin"].value() == GTIN


def test_outer_pack_is_known_by_what_it_holds(scan, owner, product):
    page = scan(owner, "0119521234543210")
    assert page.context["pack"].packed == product
    assert "outer pack of Linden Soft" in page.content.decode()


def test_quarantined_lot_says_so_first(scan, injector, owner, lot):
    quarantine_lot(lot=lot, reason="Letter of the maker", actor=owner)
    page = scan(injector, CODE).content.decode()
    assert "No unit of this lot can be opened" in page
    assert "Letter of the maker" in page


def test_other_expiry_than_received_is_pointed_out(scan, injector, lot):
    page = scan(injector, f"{P}1728113010LOT42").content.decode()
    assert "received with another expiry: 30 November 2027" in page


def test_lot_that_looks_like_a_known_one_is_a_question(scan, injector, lot):
    page = scan(injector, f"{P}1727113010L0T42")
    assert (page.context["pack"].lot, page.context["pack"].alike) == (None, [lot])
    assert links(page) == {reverse("lot-detail", args=[lot.pk])}


def test_lot_without_a_product_is_never_one_of_two(scan, injector, owner, lot):
    """Two makers gave the same number."""
    other = make_units(owner, make_product("Willow Deep"), number="LOT42")[0].lot
    page = scan(injector, "10LOT42")
    assert page.context["pack"].lot is None
    assert page.context["pack"].same_number == [lot, other]


def test_product_out_of_use_is_not_received(scan, owner, lot):
    lot.product.is_active = False
    lot.product.save()
    page = scan(owner, CODE)
    assert "no longer in use" in page.content.decode()
    assert reverse("receiving") not in {urlsplit(link).path for link in links(page)}


def test_warnings_are_shown(scan, injector, lot):
    page = scan(injector, f"{P}1727110010LOT4221SER9").content.decode()
    assert "gives the month of expiry only" in page
    assert "may be two entries" in page


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("", "Nothing was read"),
        ("LOT42", "This is not a GS1 code"),
        ("+A123BJC5D6E71G", "This is an HIBC code"),
        (f"{P}10A\x00", "a sign that cannot be seen"),
        ("<b>x</b>", "This is not a GS1 code"),
    ],
)
def test_refused_code_stays_in_the_field_with_the_reason(scan, injector, text, error):
    page = scan(injector, text)
    assert error in page.content.decode()
    assert page.context["form"]["scan"].value() == text
    assert "pack" not in page.context
    assert "<b>x" not in page.content.decode()


def test_page_takes_no_post(client, injector):
    """Nothing is stored here; Django's own answer."""
    client.force_login(injector)
    assert client.post("/scanning/", {"scan": CODE}).status_code == 405
