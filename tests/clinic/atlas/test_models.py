"""What the database holds of the clinic's atlas, tried by going round the forms."""

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.atlas.models import AtlasEntry
from clinic.atlas.services import copied
from planning.atlas.compilation import guide


def row(owner, **fields) -> AtlasEntry:
    fields = {
        "region": "nasal", "kind": "amount", "use": "filler", "most": 100, "per": "point",
        "source_title": "Clinic policy", "source_detail": "Team", "trust": "clinic_policy",
        "changed_at": timezone.now(), "changed_by": owner, **fields,
    }  # fmt: skip
    return AtlasEntry.objects.create(**fields)


HINT = {"kind": "hint", "use": "any", "most": None, "per": "", "text": "Slowly."}


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"region": "elbow"}, "atlas_region_is_known"),
        ({**HINT, "use": "laser"}, "atlas_use_is_known"),
        ({"trust": "rumour"}, "atlas_trust_is_known"),
        ({**HINT, "kind": "gossip"}, "atlas_term_fits_kind"),
        ({**HINT, "kind": "plane", "term": "bolus"}, "atlas_term_fits_kind"),
        ({**HINT, "kind": "plane", "term": ""}, "atlas_term_fits_kind"),
        ({**HINT, "term": "bolus"}, "atlas_term_fits_kind"),
        ({**HINT, "text": ""}, "atlas_words_are_said"),
        ({**HINT, "most": 100}, "atlas_amount_is_whole"),
        ({"most": None}, "atlas_amount_is_whole"),
        ({"most": 0}, "atlas_amount_is_whole"),
        ({"per": ""}, "atlas_amount_is_whole"),
        ({"per": "face"}, "atlas_amount_is_whole"),
        ({"use": "toxin", "substance": "abobotulinumtoxina"}, "atlas_amount_is_whole"),
        ({"use": "any"}, "atlas_amount_is_whole"),
        ({"use": "toxin", "per": "session"}, "atlas_amount_is_whole"),
        ({"use": "toxin", "per": "session", "substance": "water"}, "atlas_amount_is_whole"),
        ({"least": 101}, "atlas_least_is_below_most"),
        ({"least": 0}, "atlas_least_is_below_most"),
        ({"source_title": ""}, "atlas_has_a_source"),
        ({"source_detail": ""}, "atlas_has_a_source"),
        ({"is_withdrawal": True}, "atlas_withdrawal_names_its_key"),
    ],
)
def test_what_cannot_be_a_value_is_refused(owner, fields, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        row(owner, **fields)


@pytest.mark.parametrize(
    "fields",
    [
        {"least": 100},
        HINT,
        {**HINT, "kind": "plane", "term": "deep_fat", "text": ""},
        {"use": "toxin", "per": "session", "substance": "abobotulinumtoxina"},
    ],
)
def test_what_can_be_a_value_is_kept(owner, fields):
    assert row(owner, **fields).entry.words


def test_a_supplied_value_is_replaced_once(owner):
    row(owner, replaces="temple.amount.filler", region="temple")
    with pytest.raises(IntegrityError), transaction.atomic():
        row(owner, **HINT, replaces="temple.amount.filler")


def test_a_region_has_one_amount_of_the_clinics_own_for_one_product(owner):
    row(owner)
    row(owner, use="toxin", per="session", substance="abobotulinumtoxina")
    with pytest.raises(IntegrityError), transaction.atomic():
        row(owner, per="side")


def test_every_supplied_value_could_be_withdrawn_or_replaced(owner):
    """Its words fit the columns, and the rules let it in."""
    copies = [copied(entry) for entry in guide()]
    for copy in copies:
        copy.source_title, copy.source_detail, copy.trust = "Clinic policy", "Team", "clinic_policy"
        copy.is_withdrawal, copy.changed_at, copy.changed_by = True, timezone.now(), owner
        copy.clean_fields(exclude=["changed_by"])
    assert len(AtlasEntry.objects.bulk_create(copies)) == len(guide())
