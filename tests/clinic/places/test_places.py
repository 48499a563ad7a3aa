"""Adding, changing and retiring the places where units lie."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.places.models import Place
from clinic.places.queries import place_names
from clinic.sites.models import Site
from clinic.stock.enums import MovementKind
from clinic.stock.services import take_out_of_stock
from tests.factories import make_fridge, make_place, make_product, make_units, refreshed

NEW = reverse("place-create")
TYPED = {
    "name": "Fridge 1", "kind": "fridge", "lowest_tenths": "2", "highest_tenths": "8 °C",
    "is_active": "on",
}  # fmt: skip


def typed(at: str = "Riverside", **changes) -> dict:
    """What is sent for a place of a site, which is there before."""
    return TYPED | {"site": str(Site.objects.get_or_create(name=at)[0].pk)} | changes


def edit_url(place: Place) -> str:
    return reverse("place-edit", kwargs={"pk": place.pk})


def errors(answer) -> dict:
    return answer.context["form"].errors


def test_a_place_is_added_with_its_temperatures_in_tenths(signed_in, owner):
    answer = signed_in(owner).post(NEW, typed())
    place = Place.objects.get()
    assert answer.headers["Location"] == reverse("place-detail", kwargs={"pk": place.pk})
    assert (place.lowest_tenths, place.highest_tenths, place.is_fridge) == (20, 80, True)
    event = AuditEvent.objects.get(action="place.saved")
    assert '"highest_tenths":"8 °C"' in event.data
    assert '"site":"Riverside"' in event.data


def test_the_form_shows_degrees_and_saving_it_unchanged_changes_nothing(signed_in, owner):
    place = make_fridge(lowest_tenths=-15, highest_tenths=55)
    client = signed_in(owner)
    form = client.get(edit_url(place)).context["form"]
    assert (form["lowest_tenths"].value(), form["highest_tenths"].value()) == ("-1.5", "5.5")
    sent = {name: form[name].value() for name in form.fields} | {"is_active": "on"}
    assert client.post(edit_url(place), sent).status_code == 302
    assert refreshed(place).kept_between == (-15, 55)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"lowest_tenths": "cold"}, "lowest_tenths", "is not a temperature"),
        ({"lowest_tenths": ""}, "lowest_tenths", "Give both temperatures"),
        ({"highest_tenths": ""}, "highest_tenths", "Give both temperatures"),
        ({"lowest_tenths": "8", "highest_tenths": "2"}, "highest_tenths", "not above the lower"),
        ({"lowest_tenths": "", "highest_tenths": ""}, "lowest_tenths", "this fridge is kept"),
        ({"name": ""}, "name", "Place is required."),
        ({"site": ""}, "site", "Site is required."),
        ({"site": "999"}, "site", "not one of the available choices"),
        ({"kind": "cellar"}, "kind", "not one of the available choices"),
    ],
)
def test_bad_input_is_named_on_its_field_and_kept(signed_in, owner, change, field, words):
    answer = signed_in(owner).post(NEW, typed(**change))
    assert words in str(errors(answer)[field])
    assert not Place.objects.exists()
    for name, value in change.items():
        assert answer.context["form"][name].value() == value


def test_a_second_place_of_the_same_name_is_refused_on_its_site_alone(signed_in, owner):
    client = signed_in(owner)
    client.post(NEW, typed())
    assert "already has a place of this name" in str(errors(client.post(NEW, typed())))
    assert client.post(NEW, typed("Park Lane")).status_code == 302


def test_a_clinic_without_a_site_is_told_to_add_one_first(signed_in, owner):
    assert (
        "A place belongs to a site: add that first." in signed_in(owner).get(NEW).content.decode()
    )


def test_a_place_is_retired_only_when_nothing_lies_there(signed_in, owner):
    place = make_place()
    (unit,) = make_units(owner, make_product(), quantity=1, place=place)
    sent = {"site": place.site_id, "name": place.name, "kind": place.kind}
    client = signed_in(owner)
    assert "Units of stock lie here: 1." in str(errors(client.post(edit_url(place), sent)))
    assert refreshed(place).is_active
    take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Broken", actor=owner)
    assert client.post(edit_url(place), sent).status_code == 302
    assert not refreshed(place).is_active


def test_lists_name_the_site_only_where_there_are_several(db):
    shelf = make_place("Shelf")
    assert place_names() == {shelf.pk: "Shelf"}
    other = make_place("Shelf", site="Park Lane")
    assert place_names() == {shelf.pk: "Riverside, Shelf", other.pk: "Park Lane, Shelf"}


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"kind": "cellar"}, "place_kind_is_known"),
        ({"lowest_tenths": 20}, "place_range_whole"),
        ({"lowest_tenths": 80, "highest_tenths": 80}, "place_range_whole"),
        ({"kind": "fridge"}, "place_fridge_has_range"),
    ],
)
def test_the_database_holds_the_rules_too(db, fields, name):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make_place(**fields)


def test_the_database_knows_a_place_once_per_site(db):
    make_place()
    with pytest.raises(IntegrityError, match=r"place_once_per_site|site"), transaction.atomic():
        make_place()
