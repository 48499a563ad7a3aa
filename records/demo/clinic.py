"""The invented clinic itself: policy, staff, products and lots, from `fixtures/demo`."""

import json
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.utils import timezone

from clinic.audit.services import acting
from clinic.emergency_kit.models import EmergencyItem
from clinic.emergency_kit.services import save_item
from clinic.places.models import Place
from clinic.places.services import save_place
from clinic.policy.models import ClinicPolicy, Closure
from clinic.products.models import Product
from clinic.products.services import save_product
from clinic.receiving.services import receive_lot
from clinic.review_rules.models import EffectDuration, ReviewRule
from clinic.review_rules.services import save_duration, save_rule
from clinic.sites.models import Site
from clinic.sites.services import save_site
from clinic.staff.models import User
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.services import take_out_of_stock

PASSWORD = "larkstone-demo-2026"  # noqa: S105 (the demo clinic is open to whoever starts it)


def fixture(name: str) -> Any:
    """One file of the demo's invented data."""
    return json.loads((settings.BASE_DIR / "fixtures" / "demo" / f"{name}.json").read_text())


def at(day: date, hour: int, minute: int = 0) -> datetime:
    """A moment of the clinic's own day."""
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))


@dataclass(frozen=True)
class DemoClinic:
    """
    What the later steps need: people by user name, sites, products and places by key, and in which
    of the places each product is kept.
    """

    staff: dict[str, User]
    sites: dict[str, Site]
    products: dict[str, Product]
    places: dict[str, Place]
    kept_in: dict[str, Place]

    @property
    def injectors(self) -> list[User]:
        return [self.staff["injector"], self.staff["second"]]


def build_clinic(today: date) -> DemoClinic:
    """Policy, review rules, staff, sites, places, products; the lots come with `receive`."""
    data = fixture("clinic")
    staff = {row["username"]: _member(row) for row in data["staff"]}
    owner = staff["owner"]
    with acting(owner) as trail:
        policy = ClinicPolicy.objects.create(**data["policy"])
        trail.add("policy.saved", policy, after=data["policy"])
        for row in data["closures"]:
            first = today + timedelta(days=row["in_days"])
            last = first + timedelta(days=row["days"] - 1)
            closure = Closure.objects.create(starts_on=first, ends_on=last, reason=row["reason"])
            trail.add("closure.added", closure, after={"starts_on": first, "ends_on": last})
    for row in data["review_rules"]:
        save_rule(rule=ReviewRule(**row), actor=owner)
    for row in data["durations"]:
        save_duration(duration=EffectDuration(**row), actor=owner)
    sites, places, products, kept_in = {}, {}, {}, {}
    for row in data["sites"]:
        key = row.pop("key")
        sites[key] = save_site(site=Site(**row), actor=owner)
    for row in data["places"]:
        key = row.pop("key")
        site = sites[row.pop("site")]
        places[key] = save_place(place=Place(site=site, **row), actor=owner)
    for row in data["products"]:
        key, place = row.pop("key"), row.pop("place")
        products[key] = save_product(product=Product(**row), actor=owner)
        kept_in[key] = places[place]
    for row in data["emergency_kit"]:
        expires_in = row.pop("expires_in_days", None)
        expires_on = today + timedelta(days=expires_in) if expires_in else None
        save_item(item=EmergencyItem(expires_on=expires_on, **row), actor=owner)
    return DemoClinic(staff, sites, products, places, kept_in)


def _member(row: dict[str, Any]) -> User:
    return User.objects.create_user(password=PASSWORD, **row)


def receive(clinic: DemoClinic, row: dict[str, Any], today: date) -> None:
    """One lot of the fixture, now."""
    receive_lot(
        product=clinic.products[row["product"]],
        number=row["number"],
        expires_on=today + timedelta(days=row["expires_in_days"]),
        quantity=row["quantity"],
        place=clinic.kept_in[row["product"]],
        actor=clinic.staff["owner"],
    )


def settle_stock(clinic: DemoClinic, today: date) -> None:
    """What the owner did lately: a return, a write-off."""
    owner = clinic.staff["owner"]
    expired = UnitOfStock.objects.in_stock().filter(lot__expires_on__lt=today)
    for unit in expired.order_by("id")[:2]:
        take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Expired", actor=owner)
    returned = Lot.objects.get(product=clinic.products["caha"], number="CH-131")
    for unit in returned.units.in_stock().order_by("-id")[:2]:
        take_out_of_stock(
            unit=unit, kind=MovementKind.RETURNED, reason="Ordered twice", actor=owner
        )
