"""
The supplied atlas and the clinic's values over it.

Amounts: common practice, no source, as the practice gave them. Toxins: label highlights 2019
(20, 24, 20 units) and J Drugs Dermatol 2021 (20, 20, 50); platysma 26 to 36 from memory.
"""

import pytest

from planning.atlas.cautions import CAUTIONS
from planning.atlas.compilation import CONFIDENCE_OF, guide, supplied
from planning.atlas.guide import Change, GuideEntry, Kind, Origin, Per, Use, merged, standing
from planning.atlas.measurements import Mark
from planning.atlas.regions import Region
from planning.reference_ranges import LABEL_TOTALS, REGION_RANGES, ranges_of
from planning.sources import Confidence, clinic_policy

TEMPLE = supplied()["temple.amount.filler"]


def own(**fields) -> GuideEntry:
    fields = {
        "key": "own.1", "region": Region.TEMPLE, "kind": Kind.AMOUNT, "use": Use.FILLER,
        "source": clinic_policy("team meeting"), "least": 300, "most": 400, "per": Per.SIDE,
        **fields,
    }  # fmt: skip
    return GuideEntry(**fields)


def values_of(region: Region, *changes: Change):
    return [value for value in merged(guide(), changes) if value.entry.region is region]


def test_every_key_is_given_once():
    assert len(supplied()) == len(guide())


@pytest.mark.parametrize("entry", guide(), ids=lambda entry: entry.key)
def test_every_supplied_value_has_words_and_a_source(entry):
    assert entry.words
    assert entry.source.title
    assert entry.source.detail
    if entry.kind is Kind.AMOUNT:
        assert (entry.per is Per.SESSION) is (entry.use is Use.TOXIN) is bool(entry.substance)
        assert 0 < (entry.least or entry.most) <= entry.most


@pytest.mark.parametrize(
    ("region", "per", "least", "most"),
    [
        (Region.TEMPLE, Per.SIDE, 500, 600),
        (Region.ZYGOMATIC, Per.POINT, None, 200),
        (Region.NASOLABIAL, Per.POINT, None, 200),
        (Region.MENTAL, Per.POINT, None, 200),
        (Region.PAROTID_MASSETERIC, Per.SIDE, None, 300),
    ],
)
def test_usual_amounts_are_those_commonly_taught(region, per, least, most):
    usual = REGION_RANGES[region]
    assert (usual.per, usual.least_ul, usual.most_ul) == (per, least, most)
    assert usual.source.confidence is Confidence.COMMON_PRACTICE
    assert len(REGION_RANGES) == 5


@pytest.mark.parametrize(
    ("toxin", "region", "units", "confidence"),
    [
        ("onabotulinumtoxina", Region.GLABELLA, 20, Confidence.PUBLISHED),
        ("onabotulinumtoxina", Region.LATERAL_CANTHAL, 24, Confidence.PUBLISHED),
        ("onabotulinumtoxina", Region.FOREHEAD, 20, Confidence.PUBLISHED),
        ("incobotulinumtoxina", Region.GLABELLA, 20, Confidence.PUBLISHED),
        ("prabotulinumtoxina", Region.GLABELLA, 20, Confidence.PUBLISHED),
        ("abobotulinumtoxina", Region.GLABELLA, 50, Confidence.PUBLISHED),
        ("onabotulinumtoxina", Region.NECK, 36, Confidence.MEMORY),
    ],
)
def test_toxin_totals_are_those_of_the_labels(toxin, region, units, confidence):
    total = LABEL_TOTALS[toxin, region]
    assert (total.centiunits, total.source.confidence) == (units * 100, confidence)
    assert len(LABEL_TOTALS) == 7


def test_an_amount_is_read_as_it_is_counted():
    assert TEMPLE.words == "0.5 to 0.6\u00a0mL for a side"
    assert supplied()["neck.amount.onabotulinumtoxina"].words == (
        "26 to 36\u00a0units for a session, both sides"
    )


def test_every_caution_of_the_chart_is_in_the_guide_word_for_word():
    shown = {(e.region, e.text) for e in guide() if e.kind is Kind.CAUTION}
    assert shown == {(region, one.text) for region, rows in CAUTIONS.items() for one in rows}


def test_how_far_a_caution_is_trusted_is_carried_over():
    assert set(CONFIDENCE_OF) == set(Mark)
    [trusted] = {e.source.confidence for e in guide() if e.key.startswith("mental.caution.05")}
    assert trusted is Confidence.PUBLISHED
    [recalled] = [e for e in guide() if e.text == "Submental and mental arteries."]
    assert recalled.source.confidence is Confidence.MEMORY


@pytest.mark.parametrize(
    ("region", "vessel"),
    [
        # Clin Anat 2020;33:370-382; Aesthet Surg J 2020;40:1327; Aesthetic Plast Surg, CT of 200
        (Region.GLABELLA, "supratrochlear"),
        (Region.UPPER_LIP, "superior_labial"),
        (Region.TEMPLE, "middle_temporal_vein"),
    ],
)
def test_a_vessel_is_named_where_its_drawn_course_runs(region, vessel):
    assert f"{region}.structure.{vessel}" in supplied()


def test_no_instrument_is_invented():
    assert [entry for entry in guide() if entry.kind is Kind.INSTRUMENT] == []


def test_without_changes_the_atlas_is_what_is_supplied():
    values = merged(guide(), [])
    assert set(standing(values)) == set(guide())
    assert {value.origin for value in values} == {Origin.SUPPLIED}


def test_the_clinics_value_takes_the_place_of_the_supplied_one():
    values = values_of(Region.TEMPLE, Change(own(), replaces=TEMPLE.key, row=7))
    [amount] = [value for value in values if value.entry.kind is Kind.AMOUNT]
    assert (amount.entry.most, amount.origin, amount.supplied, amount.row) == (
        400, Origin.CLINIC, TEMPLE, 7,
    )  # fmt: skip
    assert ranges_of(standing(values))[Region.TEMPLE].most_ul == 400


def test_a_withdrawn_value_is_shown_and_holds_no_more():
    withdrawal = Change(own(source=clinic_policy("too much for us")), TEMPLE.key, withdraws=True)
    values = values_of(Region.TEMPLE, withdrawal)
    [gone] = [value for value in values if not value.holds]
    assert (gone.entry, gone.reason) == (TEMPLE, "too much for us")
    assert Region.TEMPLE not in ranges_of(standing(values))


def test_a_value_of_its_own_stands_among_its_kind():
    values = values_of(Region.NASAL, Change(own(region=Region.NASAL)))
    kinds = [value.entry.kind for value in values]
    assert kinds == sorted(kinds, key=list(Kind).index)
    assert ranges_of(standing(values))[Region.NASAL].most_ul == 400


def test_a_value_whose_supplied_one_is_gone_stands_by_itself():
    values = values_of(Region.TEMPLE, Change(own(), replaces="temple.caution.0000000000"))
    assert [value.origin for value in values].count(Origin.CLINIC) == 1
    assert TEMPLE in standing(values)


def test_a_withdrawal_of_what_is_gone_shows_nothing():
    withdrawal = Change(own(), replaces="temple.caution.0000000000", withdraws=True)
    assert values_of(Region.TEMPLE, withdrawal) == values_of(Region.TEMPLE)
