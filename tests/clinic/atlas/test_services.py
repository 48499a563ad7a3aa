"""The clinic's decisions about its atlas, and what the sessions are compared with afterwards."""

import pytest

from clinic.atlas.errors import AtlasError
from clinic.atlas.models import AtlasEntry
from clinic.atlas.queries import atlas_for, region_ranges, regions_by_part, whole_atlas
from clinic.atlas.services import copied, remove_entry, save_entry, withdraw_supplied
from clinic.audit.models import AuditEvent
from planning.atlas.compilation import supplied
from planning.atlas.guide import Kind, Origin
from planning.atlas.regions import Region
from planning.reference_ranges import REGION_RANGES
from tests.factories import make_atlas_entry

TEMPLE = "temple.amount.filler"


def amounts(region: Region) -> list[tuple[str, Origin]]:
    return [
        (value.entry.words, value.origin)
        for value in atlas_for(region)
        if value.entry.kind is Kind.AMOUNT
    ]


def replaced(owner, key: str = TEMPLE, **fields) -> AtlasEntry:
    entry = copied(supplied()[key])
    fields = {
        "least": None, "most": 400, "source_title": "Clinic policy", "source_detail": "Team",
        "trust": "clinic_policy", **fields,
    }  # fmt: skip
    for name, value in fields.items():
        setattr(entry, name, value)
    return save_entry(entry=entry, actor=owner)


def test_an_untouched_atlas_is_the_supplied_one(db):
    assert region_ranges() == REGION_RANGES


def test_the_clinics_amount_is_what_sessions_are_compared_with(owner):
    make_atlas_entry(owner)
    replaced(owner)
    ranges = region_ranges()
    assert (ranges["nasal"].least_ul, ranges["nasal"].most_ul) == (50, 100)
    assert ranges["temple"].most_ul == 400
    assert "clinic policy" in str(ranges["temple"].source)


def test_a_withdrawn_amount_is_compared_with_nothing_until_it_is_taken_back(owner):
    withdrawal = withdraw_supplied(key=TEMPLE, reason="Not done here", actor=owner)
    assert "temple" not in region_ranges()
    assert amounts(Region.TEMPLE) == [("0.5 to 0.6\u00a0mL for a side", Origin.WITHDRAWN)]
    remove_entry(entry=withdrawal, actor=owner)
    assert region_ranges() == REGION_RANGES


def test_the_supplied_value_holds_again(owner):
    remove_entry(entry=replaced(owner), actor=owner)
    assert amounts(Region.TEMPLE) == [("0.5 to 0.6\u00a0mL for a side", Origin.SUPPLIED)]


def test_every_act_is_in_the_trail_in_words(owner):
    entry = replaced(owner)
    entry.most = 450
    save_entry(entry=entry, actor=owner)
    remove_entry(entry=entry, actor=owner)
    withdraw_supplied(key=TEMPLE, reason="Not done here", actor=owner)
    events = AuditEvent.objects.filter(action__startswith="atlas.").order_by("id")
    assert [event.action for event in events] == [
        "atlas.saved", "atlas.saved", "atlas.supplied_again", "atlas.withdrawn",
    ]  # fmt: skip
    assert '"before":{"most":"0.4 mL"}' in events[1].data
    assert '"after":{"most":"0.45 mL"}' in events[1].data
    assert "Not done here" in events[3].data


@pytest.mark.parametrize("region", ["temple", "nasal"])
def test_a_region_has_one_usual_amount_for_filler(owner, region):
    make_atlas_entry(owner)
    with pytest.raises(AtlasError, match="has a usual amount for this already"):
        make_atlas_entry(owner, region=region, per="side")


def test_a_withdrawn_amount_makes_room_and_is_not_taken_back_beside_the_new_one(owner):
    withdrawal = withdraw_supplied(key=TEMPLE, reason="Not done here", actor=owner)
    make_atlas_entry(owner, region="temple")
    with pytest.raises(AtlasError, match=r"0\.05 to 0\.1"):
        remove_entry(entry=withdrawal, actor=owner)


def test_two_people_decide_about_one_value(owner):
    replaced(owner)
    with pytest.raises(AtlasError, match="Somebody else decided"):
        withdraw_supplied(key=TEMPLE, reason="Not done here", actor=owner)


def test_a_value_removed_meanwhile_is_not_saved_over(owner):
    entry = make_atlas_entry(owner)
    stale = AtlasEntry.objects.get(pk=entry.pk)
    remove_entry(entry=entry, actor=owner)
    with pytest.raises(AtlasError, match="gone already"):
        save_entry(entry=stale, actor=owner)
    with pytest.raises(AtlasError, match="gone already"):
        remove_entry(entry=stale, actor=owner)


@pytest.mark.parametrize(
    ("key", "reason", "says"),
    [("temple.nothing", "x", "no such supplied value"), (TEMPLE, "  ", "Say why")],
)
def test_a_withdrawal_needs_a_value_and_a_reason(owner, key, reason, says):
    with pytest.raises(AtlasError, match=says):
        withdraw_supplied(key=key, reason=reason, actor=owner)


def test_each_read_is_one_query_however_much_the_clinic_changed(owner, django_assert_num_queries):
    make_atlas_entry(owner)
    replaced(owner)
    for read in (region_ranges, whole_atlas, regions_by_part, lambda: atlas_for(Region.TEMPLE)):
        with django_assert_num_queries(1):
            read()
