"""Writes to products: what they refuse, and what the trail keeps."""

import pytest

from clinic.audit.models import AuditEvent
from clinic.products.errors import ProductError
from clinic.products.models import Product
from clinic.products.services import save_product
from planning.vocabulary import ProductKind
from tests.factories import make_product, make_units, refreshed


def last_event() -> AuditEvent:
    return AuditEvent.objects.first()


def test_a_product_is_saved_with_words_in_the_trail(owner):
    product = Product(name="Filler", maker="Maker", kind=ProductKind.HA_FILLER, content=1000,
                      lidocaine_ug_per_ml=3000)  # fmt: skip
    save_product(product=product, actor=owner)
    event = last_event()
    assert (event.action, event.subject_id, event.actor) == (
        "product.saved",
        str(product.pk),
        owner,
    )
    assert '"content":"1 mL"' in event.data
    assert '"lidocaine_ug_per_ml":"0.3 % (3 mg/mL)"' in event.data


@pytest.mark.parametrize("change", [{"content": 2000}, {"kind": ProductKind.OTHER_FILLER}])
def test_kind_and_content_stay_once_units_were_received(owner, change):
    product = make_product()
    make_units(owner, product)
    for name, value in change.items():
        setattr(product, name, value)
    with pytest.raises(ProductError, match="so its kind and content stay"):
        save_product(product=product, actor=owner)
    assert (refreshed(product).content, product.kind) == (1000, ProductKind.HA_FILLER)


def test_kind_and_content_may_be_corrected_before_any_unit_came(owner):
    product = make_product()
    product.content = 2000
    save_product(product=product, actor=owner)
    assert refreshed(product).content == 2000
    assert '"before":{"content":"1 mL"}' in last_event().data
