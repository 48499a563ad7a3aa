"""What the clinic keeps against an emergency, fed by the stock."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.emergency_kit.models import EmergencyItem
from clinic.emergency_kit.queries import kit_lines, kit_problems
from clinic.policy.models import ClinicPolicy
from planning.emergency_kit import KitState
from planning.vocabulary import ProductKind
from tests.factories import (
    make_emergency_item,
    make_place,
    make_product,
    make_quarantine,
    make_units,
)

pytestmark = pytest.mark.django_db
KIT, NEW = reverse("emergency-kit"), reverse("emergency-item-create")


@pytest.fixture
def hyaluronidase(owner):
    return make_product(
        "Hyaluronidase 1,500 units", kind=ProductKind.HYALURONIDASE, content=150_000,
        lidocaine_ug_per_ml=0,
    )  # fmt: skip


def lines():
    return kit_lines(ClinicPolicy(), timezone.localdate())


def in_days(days: int):
    return timezone.localdate() + timedelta(days=days)


def test_units_in_date_are_counted_from_the_stock(owner, hyaluronidase):
    make_emergency_item(minimum=300_000)
    (line,) = lines()
    assert (line.state, line.words) == (
        KitState.MISSING,
        "Hyaluronidase: 0\u00a0units in date, 3,000\u00a0units short of 3,000\u00a0units.",
    )
    make_units(owner, hyaluronidase, number="H1", quantity=2, expires_on=in_days(400))
    (line,) = lines()
    assert (line.state, line.have_text) == (KitState.READY, "3,000\u00a0units")
    assert line.ends_on == in_days(400)


def test_what_expired_or_is_stopped_is_not_on_hand(owner, hyaluronidase):
    make_emergency_item()
    make_units(owner, hyaluronidase, number="OLD", expires_on=in_days(-1), quantity=1)
    make_units(owner, hyaluronidase, number="STOP", expires_on=in_days(400), quantity=1)
    make_quarantine(owner, hyaluronidase, lot_first="STOP", lot_last="STOP")
    (line,) = lines()
    assert (line.state, line.cover.on_hand) == (KitState.MISSING, 0)


def test_an_emergency_medicine_is_counted_by_piece(owner):
    adrenaline = make_product(
        "Adrenaline 1 mg in 1 mL", kind=ProductKind.EMERGENCY, content=1_000, lidocaine_ug_per_ml=0
    )
    make_units(owner, adrenaline, quantity=1, expires_on=in_days(20))
    make_emergency_item("Adrenaline", product_kind="", product=adrenaline, minimum=1)
    make_emergency_item("More of it", product_kind=ProductKind.EMERGENCY, minimum=2)
    assert [line.words for line in kit_problems(ClinicPolicy(), timezone.localdate())] == [
        "More of it: 1 piece in date, 1 piece short of 2 pieces.",
        f"Adrenaline: 1 piece in date, enough until {in_days(20).day} {in_days(20):%b %Y}.",
    ]


def test_each_site_has_its_own_shelf(owner, hyaluronidase):
    here, there = make_place("Cupboard"), make_place("Cupboard", site="Mill Road")
    make_emergency_item()
    make_emergency_item("Oxygen", product_kind="", minimum=None, site=there.site)
    make_units(owner, hyaluronidase, quantity=1, place=here, expires_on=in_days(400))
    make_units(owner, hyaluronidase, number="NOWHERE", quantity=9, expires_on=in_days(400))
    assert [(str(line.site), str(line.item), line.state) for line in lines()] == [
        ("Mill Road", "Hyaluronidase", KitState.MISSING),
        ("Mill Road", "Oxygen", KitState.BY_HAND),
        ("Riverside", "Hyaluronidase", KitState.READY),
    ]


def test_where_there_is_one_site_everything_lies_there(owner, hyaluronidase):
    make_place()
    make_emergency_item()
    make_units(owner, hyaluronidase, quantity=1, expires_on=in_days(400))
    assert [line.state for line in lines()] == [KitState.READY]


def test_three_items_take_as_many_queries_as_one(owner, hyaluronidase):
    make_emergency_item()
    with CaptureQueriesContext(connection) as one:
        lines()
    make_emergency_item("Another")
    make_emergency_item("A third", product_kind="", product=hyaluronidase)
    with CaptureQueriesContext(connection) as three:
        assert len(lines()) == 3
    assert len(three) == len(one) == 3


def test_the_owner_lists_an_item_and_the_page_says_what_is_missing(signed_in, owner):
    client = signed_in(owner)
    assert "No item yet" in client.get(KIT).content.decode()
    sent = {
        "name": "Hyaluronidase", "product_kind": "hyaluronidase", "minimum": "1500",
        "source": "Local protocol 2026", "is_active": "on",
    }  # fmt: skip
    answer = client.post(NEW, sent)
    assert answer.status_code == 302, answer.context["form"].errors
    assert answer.headers["Location"] == KIT
    item = EmergencyItem.objects.get()
    assert (item.minimum, item.site) == (150_000, None)
    assert AuditEvent.objects.get(action="emergency_item.saved").actor == owner
    page = client.get(KIT).content.decode()
    assert "1 item missing or about to expire" in page
    assert "Local protocol 2026" in page
    edit = reverse("emergency-item-edit", args=[item.pk])
    assert 'value="1500"' in client.get(edit).content.decode()
    assert client.post(edit, sent | {"minimum": "750"}).status_code == 302
    item.refresh_from_db()
    assert item.minimum == 75_000


def test_an_injector_reads_the_kit_and_changes_nothing(signed_in, injector):
    item = make_emergency_item()
    client = signed_in(injector)
    page = client.get(KIT).content.decode()
    assert "Hyaluronidase" in page
    assert reverse("emergency-item-edit", args=[item.pk]) not in page


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"name": ""}, "Item is required."),
        ({"minimum": ""}, "Say how much is kept at least."),
        ({"minimum": "much"}, "much"),
        ({"minimum": "1,500"}, "can be read in two ways"),
        ({"product_kind": "emergency", "minimum": "1.5"}, "Type a whole number of pieces"),
        ({"product_kind": "emergency", "minimum": "99999"}, "Type a whole number of pieces"),
        ({"product_kind": ""}, "choose its kind or its product"),
        ({"expires_on": "2030-01-01"}, "leave this empty"),
    ],
)
def test_what_cannot_be_counted_is_said_on_the_field(signed_in, owner, fields, message):
    sent = {"name": "Kit", "product_kind": "hyaluronidase", "minimum": "1500", "is_active": "on"}
    answer = signed_in(owner).post(NEW, sent | fields)
    assert answer.status_code == 422
    assert message in answer.content.decode()
    assert not EmergencyItem.objects.exists()


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"minimum": None}, "emergency_item_minimum_of_stock"),
        ({"minimum": 0}, "emergency_item_minimum_of_stock"),
        ({"product_kind": ""}, "emergency_item_minimum_of_stock"),
        ({"expires_on": "2030-01-01"}, "emergency_item_minimum_of_stock"),
    ],
)
def test_the_database_keeps_counted_and_looked_at_apart(fields, name):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make_emergency_item(**fields)


def test_the_database_knows_one_way_of_counting_and_one_item_of_a_name(owner, hyaluronidase):
    make_emergency_item()
    with pytest.raises(IntegrityError), transaction.atomic():
        make_emergency_item()
    with pytest.raises(IntegrityError, match="one_way_of_counting"), transaction.atomic():
        make_emergency_item("Both", product=hyaluronidase)
    site = make_place().site
    make_emergency_item(site=site)
    with pytest.raises(IntegrityError), transaction.atomic():
        make_emergency_item(site=site)
