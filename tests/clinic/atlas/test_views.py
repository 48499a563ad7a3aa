"""The pages of the face atlas."""

import pytest
from django.urls import reverse

from clinic.atlas.models import AtlasEntry
from planning.atlas.guide import Kind
from planning.atlas.regions import Region
from tests.factories import make_atlas_entry

LIST = reverse("atlas-list")
TEMPLE, NASAL = (reverse("atlas-region", args=[region]) for region in ("temple", "nasal"))
KEY = "temple.amount.filler"


def typed(**fields) -> dict:
    return {
        "use": "filler", "most": "0.4", "least": "", "per": "side", "text": "", "substance": "",
        "source_title": "Clinic policy", "source_detail": "Team of May 2026",
        "trust": "clinic_policy", **fields,
    }  # fmt: skip


def text_of(answer) -> str:
    return answer.content.decode()


def test_the_list_leads_to_every_region_from_drawing_and_list(injector, signed_in):
    page = text_of(signed_in(injector).get(LIST))
    for region in Region:
        address = reverse("atlas-region", args=[region])
        assert page.count(f'href="{address}"') >= 2, region
    assert "0.5 to 0.6\u00a0mL for a side" in page
    assert "the clinic’s to fill in" in page


def test_each_value_stands_with_source_and_confidence(injector, signed_in):
    page = text_of(signed_in(injector).get(TEMPLE))
    assert "0.5 to 0.6\u00a0mL for a side" in page
    assert "as commonly taught; no publication known" in page
    assert "common practice, no source" in page
    assert "Middle temporal vein" in page
    assert "The clinic’s to fill in" in page  # no instrument is supplied


def test_who_injects_reads_and_changes_nothing(injector, signed_in):
    page = text_of(signed_in(injector).get(TEMPLE))
    assert "/replace/" not in page
    assert "/add/" not in page
    assert signed_in(injector).get(reverse("atlas-replace", args=[KEY])).status_code == 403


def test_the_owner_changes_a_supplied_amount(owner, signed_in):
    address = reverse("atlas-replace", args=[KEY])
    form = text_of(signed_in(owner).get(address))
    assert 'value="0.6"' in form
    assert 'value="0.5"' in form
    answer = signed_in(owner).post(address, typed(), follow=True)
    page = text_of(answer)
    assert "0.4\u00a0mL for a side" in page
    assert "In place of the supplied" in page
    assert "Clinic’s own" in page
    # Pressed again, by somebody who has the page of before.
    [entry] = AtlasEntry.objects.all()
    again = signed_in(owner).get(address)
    assert again["Location"] == reverse("atlas-edit", args=[entry.pk])


@pytest.mark.parametrize("kind", list(Kind))
def test_a_value_of_each_kind_is_added(owner, signed_in, kind):
    term = next(iter(kind.terms)).value if kind.terms else ""
    data = typed(term=term, text="As we do it") if kind is not Kind.AMOUNT else typed()
    answer = signed_in(owner).post(reverse("atlas-add", args=["nasal", kind]), data)
    assert answer["Location"] == NASAL
    entry = AtlasEntry.objects.get()
    assert (entry.region, entry.kind, entry.term) == ("nasal", kind, term)


def test_a_toxin_is_counted_in_units_for_both_sides(owner, signed_in):
    data = typed(use="toxin", substance="abobotulinumtoxina", most="30 units", per="")
    signed_in(owner).post(reverse("atlas-add", args=["nasal", "amount"]), data)
    entry = AtlasEntry.objects.get()
    assert (entry.most, entry.per, entry.substance) == (3000, "session", "abobotulinumtoxina")


def test_the_clinics_own_value_is_changed_and_removed(owner, signed_in):
    entry = make_atlas_entry(owner)
    client = signed_in(owner)
    client.post(reverse("atlas-edit", args=[entry.pk]), typed(most="0.15"))
    entry.refresh_from_db()
    assert (entry.least, entry.most) == (None, 150)
    remove = reverse("atlas-remove", args=[entry.pk])
    assert "Remove a value" in text_of(client.get(remove))
    assert "The value is removed." in text_of(client.post(remove, follow=True))
    assert not AtlasEntry.objects.exists()


def test_a_supplied_value_is_withdrawn_and_taken_back(owner, signed_in):
    client = signed_in(owner)
    page = text_of(
        client.post(reverse("atlas-withdraw", args=[KEY]), {"reason": "Not <here>"}, follow=True)
    )
    assert "Withdrawn" in page
    assert "Not &lt;here&gt;" in page
    remove = reverse("atlas-remove", args=[AtlasEntry.objects.get().pk])
    assert "The supplied value holds again." in text_of(client.post(remove, follow=True))


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"most": ""}, "most", "Up to is required."),
        ({"most": "much"}, "most", "is not an amount"),
        ({"most": "4 units"}, "most", "counted in mL"),
        ({"least": "0.5"}, "least", "0.5 mL is above 0.4 mL. Swap them?"),
        ({"per": ""}, "per", "Say what the amount is counted for."),
        ({"use": "toxin"}, "substance", "Say which toxin"),
        ({"use": "laser"}, "use", "Select a valid choice"),
        ({"source_title": " "}, "source_title", "Source is required."),
        ({"source_detail": ""}, "source_detail", "What it says is required."),
        ({"trust": ""}, "trust", "How it is known is required."),
    ],
)
def test_what_is_wrong_is_said_on_its_field_and_the_rest_stays(
    owner, signed_in, fields, field, says
):
    data = typed(source_detail="Kept as typed") | fields
    answer = signed_in(owner).post(reverse("atlas-add", args=["nasal", "amount"]), data)
    assert answer.status_code == 422
    assert says in " ".join(answer.context["form"].errors[field])
    if "source_detail" not in fields:
        assert "Kept as typed" in text_of(answer)
    assert not AtlasEntry.objects.exists()


def test_a_second_amount_is_refused_with_the_one_there_is(owner, signed_in):
    answer = signed_in(owner).post(reverse("atlas-add", args=["temple", "amount"]), typed())
    assert answer.status_code == 422
    assert "has a usual amount for this already: 0.5 to 0.6" in text_of(answer)


def test_a_withdrawal_without_a_reason_is_refused(owner, signed_in):
    answer = signed_in(owner).post(reverse("atlas-withdraw", args=[KEY]), {"reason": " "})
    assert answer.status_code == 422
    assert "Say why: the reason is shown beside the value." in text_of(answer)


@pytest.mark.parametrize(
    "address",
    [
        "/atlas/elbow/", "/atlas/nasal/add/gossip/", "/atlas/elbow/add/plane/",
        "/atlas/replace/temple.nothing/", "/atlas/withdraw/x/", "/atlas/entries/999/",
        "/atlas/entries/999/remove/", "/atlas/drawing/picture/average/",
        "/atlas/drawing/front/none/",
    ],
)  # fmt: skip
def test_what_is_not_there_is_not_found(owner, signed_in, address):
    assert signed_in(owner).get(address).status_code == 404


def test_the_drawing_is_an_image_that_the_browser_keeps(injector, signed_in):
    answer = signed_in(injector).get(reverse("atlas-drawing", args=["front", "average"]))
    assert answer["Content-Type"] == "image/svg+xml"
    assert "immutable" in answer["Cache-Control"]
    assert answer.content.startswith(b"<svg")
