"""Every figure shown names where it comes from and how far that can be trusted."""

import pytest

from planning import sources
from planning.sources import Confidence, Source, clinic_policy

TABLE = {name: value for name, value in vars(sources).items() if isinstance(value, Source)}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_source_says_what_it_is_and_what_it_says(name: str) -> None:
    source = TABLE[name]
    assert source.title.strip()
    assert source.detail.strip()
    assert str(source).endswith(f"({source.confidence.words})")


def test_no_two_names_stand_for_one_source() -> None:
    assert len(set(TABLE.values())) == len(TABLE) > 10


def test_figures_recalled_but_not_read_are_not_called_published() -> None:
    # The reference pages mark these as from memory.
    from_memory = {name for name, source in TABLE.items() if source.confidence is Confidence.MEMORY}
    assert from_memory == {
        "FILLER_YEARLY_VOLUME",
        "TOXIN_PLATYSMA",
        "FUNNEL_INTERPOLATION",
        "FISHER_EXACT",
        "PHOTO_VIEWS",
        "FACE_LANDMARKS",
        "STING_ALLERGY",
        "EVENT_SERIOUSNESS",
        "EVENT_CAUSALITY",
        "EVENT_REPORT_DEVICE",
        "EVENT_REPORT_MEDICINE",
    }


def test_the_clinics_own_rule_is_named_as_policy() -> None:
    assert str(clinic_policy("review after 14 days")) == (
        "Clinic policy: review after 14 days (clinic policy)"
    )
