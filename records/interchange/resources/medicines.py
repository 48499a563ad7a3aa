"""
Toxin, hyaluronidase, lidocaine and other medicines that were given: MedicationAdministration.

Doses of toxin and hyaluronidase are in units, which belong to one product: those of two products
are never added nor converted. UCUM has no unit for them but the arbitrary one (see parts.py).
"""

from collections.abc import Iterator
from decimal import Decimal

from planning.amounts import format_amount
from planning.vocabulary import AnaesthesiaMethod, Measure, Plane, ProductKind, Technique
from records.interchange.parts import (
    HL7,
    Json,
    amount,
    annotation,
    coding,
    concept,
    joined,
    measured,
    moment,
    named,
    notes,
    own_concept,
    place_concept,
    uuid_identifier,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References, is_device
from records.interchange.resources.products import made_up_with
from records.interchange.resources.treatments import injected_at, point_status
from records.occlusions.models import OcclusionEntry
from records.occlusions.queries import log_of, words_of
from records.sessions.models import Anaesthesia, InjectionEntry, TreatmentSession

NOT_INTERCHANGEABLE = (
    "Units of this product alone: units of different products are not interchangeable."
)


def medicines(record: PatientRecord, refs: References) -> Iterator[Json]:
    for session in record.sessions:
        for point in session.points.all():
            if not is_device(point.unit.lot.product):
                yield _of_point(point, session, refs)
        for row in session.anaesthesia.all():
            yield _anaesthetic(row, session, refs)
        for occlusion in session.occlusions.all():
            log = log_of(occlusion)
            status = "entered-in-error" if log.is_discarded else "completed"
            for dose in log.doses:
                yield _rescue(dose, session, status, refs)


def _given(session: TreatmentSession, refs: References) -> Json:
    """What all of them have."""
    outpatient = coding(f"{HL7}/medication-admin-category", "outpatient", "Outpatient")
    return {
        "resourceType": "MedicationAdministration",
        "category": concept("Outpatient", outpatient),
        "subject": refs.patient,
        "context": refs.session(session.pk),
    }


def _of_point(point: InjectionEntry, session: TreatmentSession, refs: References) -> Json:
    measure = Measure(point.measure)
    caution = NOT_INTERCHANGEABLE if measure is Measure.DOSE else ""
    given = f"{format_amount(point.amount, measure)} of {point.unit.lot.product}"
    return {
        **_given(session, refs),
        "id": refs.id_of("MedicationAdministration/point", point.key),
        "performer": [{"actor": refs.person(session.injector_id)}],
        "partOf": [refs.to("Procedure/point", point.key)],
        "status": point_status(point),
        "medicationReference": refs.unit(point.unit),
        "effectiveDateTime": moment(injected_at(point, session)),
        "note": notes(("Made up with", made_up_with(point.unit))),
        "dosage": {
            "text": joined([given, caution], ". "),
            "site": place_concept(point.region, point.side),
            "route": own_concept("plane", Plane(point.plane)),
            "method": own_concept("technique", Technique(point.technique)),
            "dose": amount(point.amount, measure),
        },
    }


def _anaesthetic(row: Anaesthesia, session: TreatmentSession, refs: References) -> Json:
    """
    What was put on the skin is weighed, all else is measured: its lidocaine is milligrams either
    way, so that is the dose where there is any.
    """
    is_lidocaine = row.lidocaine_ug_per_ml > 0
    lidocaine = named("substance", "lidocaine", "Lidocaine")["coding"] if is_lidocaine else []
    text = f"{row.amount_text}, {row.strength_text}".replace("\u00a0", " ")
    dose = _anaesthetic_dose(row)
    dosage = {
        "text": text,
        "method": own_concept("anaesthesia-method", AnaesthesiaMethod(row.method)),
        "dose": dose,
    }
    return {
        **_given(session, refs),
        "id": refs.id_of("MedicationAdministration/anaesthesia", row.key),
        "identifier": [uuid_identifier(row.key)],
        "partOf": [refs.treatment(session.pk)],
        "status": "completed" if row.removed_at is None else "entered-in-error",
        "medicationCodeableConcept": concept(row.product, *lidocaine),
        "effectiveDateTime": moment(row.given_at),
        # Who gave it nobody wrote down; who wrote it is the note's author.
        "note": [annotation(f"Given: {text}", author=refs.person(row.logged_by_id))],
        # A dosage says how much (invariant mad-1); cream without lidocaine has no exact unit.
        "dosage": dosage if dose else None,
    }


def _anaesthetic_dose(row: Anaesthesia) -> Json | None:
    if row.lidocaine_ug_per_ml:
        milligrams = Decimal(row.volume_ul * row.lidocaine_ug_per_ml).scaleb(-6)
        return measured(milligrams.normalize(), "mg", "mg of lidocaine")
    if row.method == AnaesthesiaMethod.TOPICAL:
        return None
    return amount(row.volume_ul, Measure.VOLUME)


def _rescue(dose: OcclusionEntry, session: TreatmentSession, status: str, refs: References) -> Json:
    """Hyaluronidase of an occlusion log; it has a unit of stock where somebody scanned one."""
    units = dose.dose_centiunits or 0
    said = words_of(dose)
    no_unit = own_concept("product-kind", ProductKind.HYALURONIDASE)
    return {
        **_given(session, refs),
        "id": refs.id_of("MedicationAdministration/occlusion", dose.key),
        "identifier": [uuid_identifier(dose.key)],
        "partOf": [refs.treatment(session.pk)],
        "status": status,
        "medicationReference": refs.unit(dose.unit) if dose.unit else None,
        "medicationCodeableConcept": None if dose.unit else no_unit,
        "effectiveDateTime": moment(dose.at),
        "reasonCode": [named("reason", "vascular-occlusion", "Suspected vascular occlusion")],
        "note": [
            annotation(f"Written down in an occlusion log. {said}", author=refs.person(dose.by_id))
        ],
        "dosage": {
            "text": f"{format_amount(units, Measure.DOSE)} of hyaluronidase. {NOT_INTERCHANGEABLE}",
            "site": place_concept(dose.region, dose.side),
            "dose": amount(units, Measure.DOSE),
        },
    }
