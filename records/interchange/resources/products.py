"""
What was opened for the patient, by unit of stock: Device for fillers, Medication for all else.

A unit is one syringe or vial, with GTIN, lot and expiry. Where only a lot or a product is known, as
of an adverse event, that is what is told.
"""

from collections.abc import Iterator
from decimal import Decimal

from clinic.products.models import Product
from clinic.stock.models import Lot, UnitOfStock
from planning.amounts import format_amount
from planning.codes.element_strings import element_string
from planning.vocabulary import Diluent, Measure, ProductKind
from records.interchange.parts import (
    GTIN,
    Json,
    amount,
    annotation,
    coding,
    concept,
    identifier,
    joined,
    measured,
    named,
    own_concept,
    remark,
)
from records.interchange.references import References

# R4B, Device.udiCarrier.issuer: the example for GS1.
GS1 = "http://hl7.org/fhir/NamingSystem/gs1-di"


def devices(refs: References) -> Iterator[Json]:
    for unit in refs.pointed_at("Device/unit"):
        yield _device_of_unit(unit, refs)
    for lot in refs.pointed_at("Device/lot"):
        yield {**_device(lot.product, lot), "id": refs.id_of("Device/lot", lot.pk)}
    for product in refs.pointed_at("Device/product"):
        yield {**_device(product), "id": refs.id_of("Device/product", product.pk)}


def medications(refs: References) -> Iterator[Json]:
    for unit in refs.pointed_at("Medication/unit"):
        yield _medication_of_unit(unit, refs)
    for lot in refs.pointed_at("Medication/lot"):
        yield {**_medication(lot.product, lot), "id": refs.id_of("Medication/lot", lot.pk)}
    for product in refs.pointed_at("Medication/product"):
        yield {**_medication(product), "id": refs.id_of("Medication/product", product.pk)}


def _device_of_unit(unit: UnitOfStock, refs: References) -> Json:
    device = _device(unit.lot.product, unit.lot, unit.serial)
    held = {
        "type": named("device-property", "content", "Content when opened"),
        "valueQuantity": [amount(unit.content, unit.measure)],
    }
    return {
        **device,
        "id": refs.id_of("Device/unit", unit.label),
        "identifier": [identifier(refs.system("unit"), unit.label)],
        "serialNumber": unit.serial,
        "property": [held, *device["property"]],
        # A unit that several patients share belongs to none of them.
        "patient": refs.patient if unit.lot.product.is_single_patient else None,
        "note": [annotation(text) for text in _stopped(unit)],
    }


def _device(product: Product, lot: Lot | None = None, serial: str = "") -> Json:
    return {
        "resourceType": "Device",
        "id": "",
        "identifier": [],
        "udiCarrier": [_carrier(product.gtin, lot, serial)] if product.gtin else [],
        "status": "active",
        "manufacturer": product.maker,
        "expirationDate": lot.expires_on.isoformat() if lot else None,
        "lotNumber": lot.number if lot else None,
        "deviceName": [{"name": product.name, "type": "user-friendly-name"}],
        "type": own_concept("product-kind", ProductKind(product.kind)),
        "property": _lidocaine_in(product),
    }


def _carrier(gtin: str, lot: Lot | None, serial: str) -> Json:
    """
    The code on the box, put together from what the books hold of it; how it came into the books,
    by scanner or by hand, they do not tell.
    """
    text = element_string(gtin, expiry=lot.expires_on, lot=lot.number, serial=serial) if lot else ""
    return {
        "deviceIdentifier": gtin,
        "issuer": GS1,
        "carrierHRF": text,
        "entryType": "unknown",
    }


def _lidocaine_in(product: Product) -> list[Json]:
    if not product.lidocaine_ug_per_ml:
        return []
    strength = measured(Decimal(product.lidocaine_ug_per_ml).scaleb(-3).normalize(), "mg/mL")
    return [
        {
            "type": named("device-property", "lidocaine", "Lidocaine in the product"),
            "valueQuantity": [strength],
        }
    ]


def _medication_of_unit(unit: UnitOfStock, refs: References) -> Json:
    return {
        **_medication(unit.lot.product, unit.lot),
        "id": refs.id_of("Medication/unit", unit.label),
        "extension": [
            *remark("Serial number", unit.serial),
            *remark("Made up with", made_up_with(unit)),
            *(line for text in _stopped(unit) for line in remark("Quarantine", text)),
        ],
        "identifier": [identifier(refs.system("unit"), unit.label)],
        "amount": {
            "numerator": amount(unit.content, unit.measure),
            "denominator": {"value": 1, "unit": "unit of stock"},
        },
    }


def _medication(product: Product, lot: Lot | None = None) -> Json:
    return {
        "resourceType": "Medication",
        "id": "",
        "code": product_concept(product),
        "status": "active",
        # The record knows a maker by name alone.
        "manufacturer": {"display": product.maker},
        "batch": {
            "lotNumber": lot.number if lot else None,
            "expirationDate": lot.expires_on.isoformat() if lot else None,
        },
    }


def product_concept(product: Product) -> Json:
    """By name, GTIN where it has one, and kind."""
    gtin = [coding(GTIN, product.gtin, product.name)] if product.gtin else []
    kind = own_concept("product-kind", ProductKind(product.kind))["coding"]
    return concept(product.name, *gtin, *kind)


def made_up_with(unit: UnitOfStock) -> str:
    """ "2.5 mL sodium chloride 0.9 %"; "" of one that was not made up, or not opened."""
    opening = getattr(unit, "opening", None)
    if opening is None or not opening.diluent_ul:
        return ""
    name = Diluent(opening.diluent).label if opening.diluent else "Diluent"
    volume = format_amount(opening.diluent_ul, Measure.VOLUME)
    return joined([volume, f"{name[0].lower()}{name[1:]}"], " ")


def _stopped(unit: UnitOfStock) -> list[str]:
    """Why it, or its lot, is in quarantine now."""
    reasons = [unit.quarantine_reason, unit.lot.quarantine_reason]
    return [f"In quarantine: {reason}" for reason in reasons if reason]
