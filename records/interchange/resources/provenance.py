"""
Who wrote and signed what, and when: Provenance.

The digest of a signed record is a SHA-256 over its content as the program reads it, kept when it
was signed (`records.sessions.services.signing`). It shows whether the record was changed since; it
is no cryptographic signature, and says so by its format, plain text.
"""

from base64 import b64encode
from collections.abc import Iterator

from records.consents.models import Consent
from records.interchange.parts import (
    HL7,
    Json,
    coding,
    concept,
    moment,
    optional_moment,
    remark,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References, is_device
from records.screening.models import HistoryForm
from records.sessions.models import InjectionEntry, TreatmentSession

# R4B value set signature-type, of ASTM E1762-95.
_ASTM = "urn:iso-astm:E1762-95:2013"
AUTHOR = coding(_ASTM, "1.2.840.10065.1.12.1.1", "Author's Signature")
CONSENT = coding(_ASTM, "1.2.840.10065.1.12.1.7", "Consent Signature")


def provenances(record: PatientRecord, refs: References) -> Iterator[Json]:
    for session in record.sessions:
        if session.is_signed:
            yield _signed(session, refs)
        for point in session.points.all():
            if point.changed_at is not None:
                yield _changed(point, refs)
    for consent in record.consents:
        yield _consented(consent, refs)
    for form in record.histories:
        yield from _checked(form, refs)


def _agent(role: str, display: str, who: Json | None) -> Json:
    """By R4B value set provenance-agent-type."""
    kind = coding(f"{HL7}/provenance-participant-type", role, display)
    return {"type": concept(display, kind), "who": who}


def _activity(code: str, display: str) -> Json:
    return concept(display, coding(f"{HL7}/v3-DataOperation", code, display.lower()))


def _digest(text: str) -> Json:
    if not text:
        return {}
    return {"sigFormat": "text/plain", "data": b64encode(f"SHA-256 {text}".encode()).decode()}


def _signed(session: TreatmentSession, refs: References) -> Json:
    """Over the sitting and all its points: what the injector signed."""
    who = refs.person(session.signed_by_id)
    signature = {
        "type": [AUTHOR],
        "when": optional_moment(session.signature_made_at or session.signed_at),
        "who": who,
        **_digest(session.signed_digest),
    }
    return {
        "resourceType": "Provenance",
        "id": refs.id_of("Provenance/session", session.pk),
        "target": [
            refs.session(session.pk),
            refs.treatment(session.pk),
            *(target for point in session.points.all() for target in _told_by(point, refs)),
        ],
        "occurredDateTime": moment(session.started_at),
        "recorded": optional_moment(session.signed_at),
        "activity": _activity("CREATE", "Create"),
        "agent": [_agent("author", "Author", who)],
        "signature": [signature],
    }


def _told_by(point: InjectionEntry, refs: References) -> list[Json]:
    procedure = refs.to("Procedure/point", point.key)
    if is_device(point.unit.lot.product):
        return [procedure]
    return [procedure, refs.to("MedicationAdministration/point", point.key)]


def _changed(point: InjectionEntry, refs: References) -> Json:
    """The last change of a point; the audit trail has each with what stood there before."""
    gone = point.removed_at is not None
    return {
        "resourceType": "Provenance",
        "id": refs.id_of("Provenance/point", point.key),
        "target": _told_by(point, refs),
        "recorded": optional_moment(point.changed_at),
        "activity": _activity("NULLIFY", "Nullify") if gone else _activity("UPDATE", "Revise"),
        "agent": [_agent("author", "Author", refs.person(point.changed_by_id))],
    }


def _consented(consent: Consent, refs: References) -> Json:
    """The drawn signature is on the paper; the digest is the paper's."""
    papers = {paper.shows_withdrawal: paper for paper in consent.papers.all()}
    paper = papers.get(False)
    signature = {
        "type": [CONSENT],
        "when": moment(consent.given_at),
        "who": refs.patient,
        **(_digest(paper.digest) if paper else {}),
    }
    return {
        "resourceType": "Provenance",
        "id": refs.id_of("Provenance/consent", consent.pk),
        "extension": remark("Witness", consent.witness_name),
        "target": [
            refs.to("Consent", consent.pk),
            *(refs.to("DocumentReference/consent", one.pk) for one in papers.values()),
        ],
        "recorded": moment(consent.given_at),
        "activity": _activity("CREATE", "Create"),
        "agent": [
            _agent("informant", "Informant", refs.patient),
            _agent("enterer", "Enterer", refs.person(consent.taken_by_id)),
        ],
        "signature": [signature] if consent.signature else [],
    }


def _checked(form: HistoryForm, refs: References) -> Iterator[Json]:
    for check in form.checks.all():
        yield {
            "resourceType": "Provenance",
            "id": refs.id_of("Provenance/history-check", check.pk),
            "extension": remark("Note", check.note),
            "target": [refs.to("QuestionnaireResponse", form.pk)],
            "recorded": moment(check.at),
            "activity": concept(check.get_kind_display()),
            "agent": [_agent("verifier", "Verifier", refs.person(check.by_id))],
        }
