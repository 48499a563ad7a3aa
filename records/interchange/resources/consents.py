"""What the patient agreed to, refused or took back: Consent."""

from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from planning.consents import ConsentKind, Outcome
from records.consents.models import Consent
from records.interchange.parts import (
    HL7,
    Json,
    coding,
    concept,
    day,
    joined,
    moment,
    named,
    optional_moment,
    own_coding,
    own_concept,
    remark,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.patients.models import ContactConsent
from records.photographs.enums import Use
from records.photographs.models import Photograph, PhotographUse

# R4B value set consent-category (LOINC), and consentscope.
_CONSENT = coding("http://loinc.org", "59284-0", "Consent Document")
_TREATMENT = concept("Treatment", coding(f"{HL7}/consentscope", "treatment", "Treatment"))
_PRIVACY = concept("Privacy", coding(f"{HL7}/consentscope", "patient-privacy", "Privacy Consent"))
_INSTANCE = "instance"


def consents(record: PatientRecord, refs: References) -> Iterator[Json]:
    latest = {consent.text.kind: consent.pk for consent in record.consents}
    for consent in record.consents:
        is_latest = latest[consent.text.kind] == consent.pk
        is_current = consent.text.version >= record.newest_texts.get(consent.text.kind, 1)
        yield _consent(consent, is_latest and is_current, refs)
    for photograph in record.photographs:
        for use in photograph.uses.all():
            yield _photograph_use(use, photograph, refs)
    said = {row.channel: row.pk for row in record.contact_consents}
    for row in record.contact_consents:
        yield _contact(row, said[row.channel] == row.pk, refs)


def _consent(consent: Consent, is_last_word: bool, refs: References) -> Json:
    kind = ConsentKind(consent.text.kind)
    paper = max(consent.papers.all(), key=lambda one: one.shows_withdrawal, default=None)
    return {
        "resourceType": "Consent",
        "id": refs.id_of("Consent", consent.pk),
        "extension": _talk(consent, refs),
        "status": _status(consent, is_last_word, refs),
        "scope": _TREATMENT if kind.products else _PRIVACY,
        "category": [concept(kind.label, _CONSENT, own_coding("consent", kind))],
        "patient": refs.patient,
        "dateTime": moment(consent.given_at),
        "performer": [refs.patient],
        "organization": [refs.clinic],
        "sourceReference": refs.to("DocumentReference/consent", paper.pk) if paper else None,
        "policyRule": concept(str(consent.text)),
        "provision": {
            "type": "permit" if consent.is_given else "deny",
            "period": {
                "start": optional_moment(consent.not_before),
                "end": day(consent.valid_until),
            },
        },
    }


def _status(consent: Consent, is_last_word: bool, refs: References) -> str:
    """
    By R4B value set consent-state-codes, as of the export. Withdrawn, run out, answered anew or
    given to a text that was replaced since: inactive.
    """
    if consent.outcome != Outcome.GIVEN:
        return "rejected"
    ran_out = consent.valid_until is not None and consent.valid_until < timezone.localdate(refs.now)
    return "inactive" if consent.is_withdrawn or ran_out or not is_last_word else "active"


def _talk(consent: Consent, refs: References) -> list[Json]:
    refs.person(consent.taken_by_id)
    yes = {True: "yes", False: "no", None: "not assessed"}
    ticked = [tick.risk.words for tick in consent.ticks.all()]
    withdrawn: Any = consent.withdrawn_at and moment(consent.withdrawn_at)
    said: list[tuple[str, str]] = [
        ("Answer", consent.get_outcome_display()),
        ("Reason", consent.reason),
        ("Discussed", moment(consent.discussed_at)),
        ("Questions and answers", consent.questions),
        ("Told of alternatives", yes[consent.told_alternatives]),
        ("Told of costs", yes[consent.told_costs]),
        ("Has capacity", yes[consent.has_capacity]),
        ("How capacity was assessed", consent.capacity_note),
        ("Read and ticked", joined(ticked)),
        ("Signed by", consent.signed_name),
        ("Not signed because", consent.unsigned_reason),
        ("Witness", consent.witness_name),
        ("Withdrawn", withdrawn or ""),
        ("Withdrawn because", consent.withdrawal_reason),
    ]
    return [line for label, text in said for line in remark(label, text)]


def _photograph_use(use: PhotographUse, photograph: Photograph, refs: References) -> Json:
    """That one photograph may be used so."""
    document = refs.to("DocumentReference/photograph", photograph.key)
    in_force = use.is_in_force(timezone.localdate(refs.now)) and photograph.removed_at is None
    return {
        "resourceType": "Consent",
        "id": refs.id_of("Consent/photograph", use.pk),
        "extension": remark(
            "Withdrawn", moment(use.withdrawn_at) if use.withdrawn_at is not None else ""
        ),
        "status": "active" if in_force else "inactive",
        "scope": _PRIVACY,
        "category": [
            concept("Use of a photograph", _CONSENT),
            own_concept("photograph-use", Use(use.use)),
        ],
        "patient": refs.patient,
        "dateTime": moment(use.given_at),
        "performer": [refs.patient],
        "organization": [refs.clinic],
        "policyRule": concept(f"Photograph used for: {use.get_use_display().lower()}"),
        "provision": {
            "type": "permit",
            "period": {"end": day(use.until_on)},
            "data": [{"meaning": _INSTANCE, "reference": document}],
        },
    }


def _contact(row: ContactConsent, is_last_word: bool, refs: References) -> Json:
    """Whether the patient may be written to by a channel."""
    refs.person(row.asked_by_id)
    status = "active" if row.agreed else "rejected"
    return {
        "resourceType": "Consent",
        "id": refs.id_of("Consent/contact", row.pk),
        "status": status if is_last_word else "inactive",
        "scope": _PRIVACY,
        "category": [
            concept("Contact", _CONSENT),
            named("contact", row.channel, row.get_channel_display()),
        ],
        "patient": refs.patient,
        "dateTime": moment(row.asked_at),
        "performer": [refs.patient],
        "organization": [refs.clinic],
        "policyRule": concept(f"Written to by {row.get_channel_display().lower()}"),
        "provision": {"type": "permit" if row.agreed else "deny"},
    }
