"""
What was done: Procedure and DeviceUseStatement.

A sitting is one Procedure, and each point is one that is part of it: product, lot, unit, plane,
technique and amount belong to a point, and what is summed up cannot be taken apart again. The
amount of a filler stands with its point, the dose of a medicine with its MedicationAdministration,
each once, so that both can be added up.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from itertools import groupby

from planning.amounts import format_amount
from planning.vocabulary import (
    Aspiration,
    Instrument,
    Measure,
    Plane,
    ProductKind,
    Side,
    Technique,
    View,
)
from records.gates.models import GateDecision
from records.interchange.parts import (
    BASE,
    Json,
    amount,
    annotation,
    extension,
    measured,
    moment,
    named,
    notes,
    own_coding,
    own_concept,
    place_concept,
    uuid_identifier,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References, is_device
from records.sessions.models import Addendum, InjectionEntry, TreatmentSession
from records.sessions.queries.shown import ShownFlag
from records.time_out.enums import Item
from records.time_out.models import TimeOutCheck

TARGET_BODY = "http://hl7.org/fhir/StructureDefinition/procedure-targetBodyStructure"
_MEASURES = (
    ("pupil_dmm", "between-pupils"),
    ("face_height_dmm", "face-height"),
    ("face_width_dmm", "face-width"),
)


def treatments(record: PatientRecord, refs: References) -> Iterator[Json]:
    for session in record.sessions:
        yield _sitting(session, refs)
        addenda = list(session.addenda.all())
        for point in session.points.all():
            mine = [addendum for addendum in addenda if addendum.point_id == point.pk]
            yield _point(point, session, mine, refs)


def device_uses(record: PatientRecord, refs: References) -> Iterator[Json]:
    """One for each unit of filler, sitting, region and side."""
    for session in record.sessions:
        points = [point for point in session.points.all() if is_device(point.unit.lot.product)]
        by_place = groupby(sorted(points, key=_placed), key=_placed)
        for (label, region, side), group in by_place:
            key = f"{session.pk}/{label}/{region}/{side}"
            yield _use(key, session, list(group), refs)


def _placed(point: InjectionEntry) -> tuple[str, str, str]:
    return point.unit.label, point.region, point.side


def _sitting(session: TreatmentSession, refs: References) -> Json:
    status = "completed" if session.is_signed else "in-progress"
    return {
        "resourceType": "Procedure",
        "id": refs.id_of("Procedure/session", session.pk),
        "extension": [
            extension(name, "Quantity", measured(Decimal(tenths).scaleb(-1), "mm"))
            for field, name in _MEASURES
            if (tenths := getattr(session, field))
        ],
        "status": "entered-in-error" if session.is_set_aside else status,
        "code": named("procedure", "treatment-session", "Treatment session"),
        "subject": refs.patient,
        "encounter": refs.session(session.pk),
        "performedDateTime": moment(session.started_at),
        "performer": [{"actor": refs.person(session.injector_id)}],
        "note": [*_told(session), *_decided_and_checked(session, refs), *_added(session, refs)],
    }


def _told(session: TreatmentSession) -> list[Json]:
    flags = [ShownFlag.kept(row) for row in session.signed_flags or []]
    return [
        *notes(("Note", session.note), ("Written down later because", session.late_reason)),
        *(annotation(f"Asked when it was signed: {flag.title} {flag.text}") for flag in flags),
    ]


def _decided_and_checked(session: TreatmentSession, refs: References) -> list[Json]:
    stops = [
        annotation(_stop_text(row), at=row.decided_at, author=refs.person(row.decided_by_id))
        for row in session.gate_decisions.all()
    ]
    checks = [
        annotation(_check_text(row), at=row.at, author=refs.person(row.by_id))
        for row in session.time_out_checks.all()
    ]
    return [*stops, *checks]


def _stop_text(row: GateDecision) -> str:
    text = f"Stop: {row.title}. {row.get_how_display()}"
    return f"{text}: {row.reason}" if row.reason else text


def _check_text(row: TimeOutCheck) -> str:
    outcome = "confirmed" if row.is_confirmed else "not confirmed"
    text = f"Time-out, {Item(row.item).label}: {outcome}"
    return f"{text}: {row.note}" if row.note else text


def _added(session: TreatmentSession, refs: References) -> list[Json]:
    """The addenda about no point of their own."""
    return [_addendum(row, refs) for row in session.addenda.all() if row.point_id is None]


def _addendum(row: Addendum, refs: References) -> Json:
    text = f"Addendum ({row.reason}): {row.text}"
    return annotation(text, at=row.written_at, author=refs.person(row.author_id))


def _point(
    point: InjectionEntry, session: TreatmentSession, addenda: list[Addendum], refs: References
) -> Json:
    product = point.unit.lot.product
    unit = refs.unit(point.unit)
    implanted = {"action": named("device-action", "injected", "Injected"), "manipulated": unit}
    return {
        "resourceType": "Procedure",
        "id": refs.id_of("Procedure/point", point.key),
        "extension": [
            {"url": TARGET_BODY, "valueReference": refs.body(point.region, point.side)},
            *_injected(point),
            _how(point),
        ],
        "identifier": [uuid_identifier(point.key)],
        "partOf": [refs.treatment(session.pk)],
        "status": point_status(point),
        "code": own_concept("product-kind", ProductKind(product.kind)),
        "subject": refs.patient,
        "encounter": refs.session(session.pk),
        "performedDateTime": moment(injected_at(point, session)),
        "recorder": refs.person(point.logged_by_id),
        "performer": [{"actor": refs.person(session.injector_id)}],
        "bodySite": [place_concept(point.region, point.side)],
        "note": [*_point_notes(point), *(_addendum(row, refs) for row in addenda)],
        "focalDevice": [implanted] if is_device(product) else [],
        "usedReference": [unit],
    }


def point_status(point: InjectionEntry) -> str:
    """A removed point stays, as what was entered in error: its amount was not given."""
    return "completed" if point.removed_at is None else "entered-in-error"


def injected_at(point: InjectionEntry, session: TreatmentSession) -> datetime:
    """By the device's clock; where it was written down on a later day, when the sitting was."""
    return session.started_at if session.late_reason else point.tapped_at


def _injected(point: InjectionEntry) -> list[Json]:
    if not is_device(point.unit.lot.product):
        return []
    return [extension("injected-amount", "Quantity", amount(point.amount, Measure(point.measure)))]


def _how(point: InjectionEntry) -> Json:
    """How it was injected, and where on the drawing or photograph, in millimetres."""
    instrument = Instrument(point.instrument)
    parts = [
        ("number", "PositiveInt", point.number),
        ("plane", "Coding", own_coding("plane", Plane(point.plane))),
        ("technique", "Coding", own_coding("technique", Technique(point.technique))),
        ("instrument", "Coding", own_coding("instrument", instrument)),
        ("gauge", "PositiveInt", point.gauge),
        ("length", "Quantity", point.length_mm and measured(Decimal(point.length_mm), "mm")),
        ("aspiration", "Coding", own_coding("aspiration", Aspiration(point.aspiration))),
        ("view", "Coding", own_coding("view", View(point.view))),
        ("chart", "String", point.chart_version),
        ("x", "Decimal", Decimal(point.x_dmm).scaleb(-1)),
        ("y", "Decimal", Decimal(point.y_dmm).scaleb(-1)),
    ]
    return {
        "url": f"{BASE}/StructureDefinition/injection",
        "extension": [
            {"url": name, f"value{kind}": value} for name, kind, value in parts if value is not None
        ],
    }


def _point_notes(point: InjectionEntry) -> list[Json]:
    removed = "This point was removed: it was entered in error." if point.removed_at else ""
    return [
        *([annotation(removed, at=point.removed_at)] if removed else []),
        *notes(
            ("Deviation", point.deviation),
            ("Confirmed when asked about the amount", point.confirmed_odd),
        ),
    ]


def _use(
    key: str, session: TreatmentSession, points: list[InjectionEntry], refs: References
) -> Json:
    """
    That a unit of filler lies in a place. Nobody notes when it is gone, so it has no end: "active"
    says that nothing on record took it out.
    """
    standing = [point for point in points if point.removed_at is None]
    first = (standing or points)[0]
    total = format_amount(sum(point.amount for point in standing), Measure(first.measure))
    return {
        "resourceType": "DeviceUseStatement",
        "id": refs.id_of("DeviceUseStatement", key),
        "status": "active" if standing else "entered-in-error",
        "subject": refs.patient,
        "derivedFrom": [refs.to("Procedure/point", point.key) for point in standing or points],
        "timingDateTime": moment(injected_at(first, session)),
        "source": refs.person(session.injector_id),
        "device": refs.unit(first.unit),
        "bodySite": place_concept(first.region, Side(first.side)),
        "note": notes(("Injected there in all", total)) if standing else [],
    }
