"""Which advice goes with what was given; the words are common practice, no source."""

import pytest

from planning.aftercare import SUPPLIED, AftercareKind, kinds_after
from planning.vocabulary import ProductKind


@pytest.mark.parametrize(
    ("products", "kinds"),
    [
        ([], ()),
        ([ProductKind.ANAESTHETIC], ()),
        ([ProductKind.HA_FILLER, ProductKind.OTHER_FILLER], (AftercareKind.FILLER,)),
        ([ProductKind.TOXIN, ProductKind.HA_FILLER], (AftercareKind.FILLER, AftercareKind.TOXIN)),
        ([ProductKind.HYALURONIDASE], (AftercareKind.DISSOLVING,)),
    ],
)
def test_each_kind_of_advice_is_given_once(products, kinds):
    assert kinds_after(products) == kinds


def test_every_kind_has_advice_with_signs_and_a_source():
    assert set(SUPPLIED) == set(AftercareKind)
    for advice in SUPPLIED.values():
        assert advice.lines
        assert advice.signs
        assert advice.sources
