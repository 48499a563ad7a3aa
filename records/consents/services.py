"""Taking, refusing and withdrawing consents, and changing the texts."""

from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.policy.queries import current_policy
from planning.consents import ConsentKind, Outcome
from records.consents.errors import AlreadyWithdrawn, NotComplete, ReasonMissing, TextChanged
from records.consents.models import Consent, ConsentRisk, ConsentText, ConsentTick
from records.consents.queries import first_wait, products_before
from records.consents.supplied import SUPPLIED, Wording
from records.patients.models import Patient

# Signatures stay out of the trail: their paper's digest stands in it.
ANSWER_FIELDS = [
    "text", "outcome", "reason", "discussed_at", "questions", "told_alternatives", "told_costs",
    "has_capacity", "capacity_note", "signed_name", "unsigned_reason", "witness_name", "given_at",
    "valid_until", "not_before", "not_before_day",
]  # fmt: skip
TEXT_FIELDS = ["kind", "version", "title", "body", "valid_days"]


@dataclass(frozen=True, slots=True)
class Talk:
    """What was talked about; `has_capacity` is None where nobody judged it."""

    discussed_at: datetime
    questions: str = ""
    told_alternatives: bool = False
    told_costs: bool = False
    has_capacity: bool | None = None
    capacity_note: str = ""


@dataclass(frozen=True, slots=True)
class Signing:
    """Who signed. Without the patient's signature a witness is named, and why."""

    signed_name: str
    signature: str = ""
    unsigned_reason: str = ""
    witness_name: str = ""
    witness_signature: str = ""


def take_consent(
    *,
    patient: Patient,
    kind: ConsentKind,
    version: int,
    ticked: Collection[int],
    talk: Talk,
    signing: Signing,
    actor,
) -> Consent:
    """
    Keep a consent that is given now, to the text that was read.

    Args:
        version: of the text that the patient read.
        ticked: the positions of the statements that were ticked.

    Raises:
        TextChanged: another version is in force by now.
        NotComplete: a statement is not ticked, no capacity, nobody signed, or the talk is to come.
    """
    with acting(actor) as trail:
        patient = Patient.objects.select_for_update().get(pk=patient.pk)
        text = _read_text(kind, version)
        risks = list(text.risks.all())
        now = timezone.now()
        _refuse_incomplete(risks, ticked, talk, signing)
        wait = None
        if not kind.products & products_before([patient.pk], now)[patient.pk]:
            days = current_policy(only=["cooling_off_days"]).cooling_off_days
            wait = first_wait(kind, talk.discussed_at, days)
        consent = _keep(
            trail, patient, text, talk, now, actor,
            outcome=Outcome.GIVEN,
            valid_until=timezone.localdate(now) + timedelta(days=text.valid_days),
            not_before=wait.full_at if wait else None,
            not_before_day=wait.day if wait else None,
            **asdict(signing),
        )  # fmt: skip
        ConsentTick.objects.bulk_create(ConsentTick(consent=consent, risk=risk) for risk in risks)
    return consent


def note_not_given(
    *, patient: Patient, kind: ConsentKind, outcome: Outcome, reason: str, talk: Talk, actor
) -> Consent:
    """
    Keep that the patient refused, or that the clinic declined to treat.

    Raises:
        ReasonMissing: no reason.
        NotComplete: the talk is to come.
    """
    if not reason.strip():
        raise ReasonMissing("Say why: the record keeps the reason.")
    with acting(actor) as trail:
        patient = Patient.objects.select_for_update().get(pk=patient.pk)
        return _keep(
            trail, patient, _stored_text(kind), talk, timezone.now(), actor,
            outcome=outcome, reason=reason.strip(),
        )  # fmt: skip


def withdraw_consent(*, consent: Consent, reason: str, actor) -> Consent:
    """
    Note that the patient no longer agrees, from now on. What was done before stays as it is.

    Raises:
        ReasonMissing: nothing is said about why or how.
        AlreadyWithdrawn: somebody was quicker, or it was never given.
    """
    if not reason.strip():
        raise ReasonMissing("Write down what the patient says, or that no reason was given.")
    with acting(actor) as trail:
        stored = Consent.objects.select_for_update(of=("self",)).get(pk=consent.pk)
        if not stored.is_given or stored.is_withdrawn:
            raise AlreadyWithdrawn("There is no consent left to withdraw here.")
        stored.withdrawn_at, stored.withdrawn_by = timezone.now(), actor
        stored.withdrawal_reason = reason.strip()
        stored.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawal_reason"])
        trail.add(
            "consent.withdrawn", stored, patient_id=stored.patient_id,
            after={"withdrawn_at": stored.withdrawn_at}, reason=stored.withdrawal_reason,
        )  # fmt: skip
    return stored


def save_text(*, kind: ConsentKind, seen: int, wording: Wording, actor) -> ConsentText:
    """
    Put a new version of a text in force. Consents to the one before are asked anew.

    Args:
        seen: the version that the page showed.

    Raises:
        TextChanged: somebody made another version in the meantime.
        NotComplete: no statement to tick.
    """
    if not wording.risks:
        raise NotComplete("Write at least one statement that is read and ticked.")
    with acting(actor) as trail:
        before = _read_text(kind, seen)
        text = ConsentText.objects.create(
            kind=kind, version=before.version + 1, title=wording.title, body=wording.body,
            valid_days=wording.valid_days, written_at=timezone.now(), written_by=actor,
        )  # fmt: skip
        _add_risks(text, wording)
        trail.add(
            "consent_text.written", text,
            before=_in_words(before), after=_in_words(text),
        )  # fmt: skip
    return text


def _in_words(text: ConsentText) -> dict:
    risks = [[risk.words, risk.source] for risk in text.risks.all()]
    return snapshot(text, TEXT_FIELDS) | {"risks": risks}


def _add_risks(text: ConsentText, wording: Wording) -> None:
    ConsentRisk.objects.bulk_create(
        ConsentRisk(text=text, position=position, words=risk.words, source=risk.source)
        for position, risk in enumerate(wording.risks, start=1)
    )


def _stored_text(kind: ConsentKind) -> ConsentText:
    """The text in force, its kind locked; the supplied one becomes a row when it is first used."""
    if not ConsentText.objects.filter(kind=kind).exists():
        wording = SUPPLIED[kind]
        text, is_new = ConsentText.objects.get_or_create(
            kind=kind,
            version=1,
            defaults={
                "title": wording.title, "body": wording.body, "valid_days": wording.valid_days,
                "written_at": timezone.now(),
            },
        )  # fmt: skip
        if is_new:
            _add_risks(text, wording)
    # Who holds the first version of a kind has its texts alone. The last one is looked for after
    # that: who waited for a row is shown none on PostgreSQL that was added meanwhile.
    ConsentText.objects.select_for_update().get(kind=kind, version=1)
    return ConsentText.objects.filter(kind=kind).latest("version")


def _read_text(kind: ConsentKind, version: int) -> ConsentText:
    text = _stored_text(kind)
    if text.version != version:
        raise TextChanged(
            f"The text has changed since this page was opened: version {text.version} is in force. "
            "Open it anew and read it again."
        )
    return text


def _refuse_incomplete(
    risks: list[ConsentRisk], ticked: Collection[int], talk: Talk, signing: Signing
) -> None:
    if {risk.position for risk in risks} - set(ticked):
        raise NotComplete("Each statement is read and ticked by the patient before signing.")
    if not talk.has_capacity:
        raise NotComplete("Without capacity to decide nobody can consent here: see local law.")
    if not (talk.told_alternatives and talk.told_costs):
        raise NotComplete("Talk about alternatives and costs before the patient signs.")
    if not signing.signed_name or not (
        signing.signature or (signing.unsigned_reason and signing.witness_name)
    ):
        raise NotComplete("The patient signs, or a witness is named with why there is none.")


def _keep(
    trail: Trail,
    patient: Patient,
    text: ConsentText,
    talk: Talk,
    now: datetime,
    actor,
    **fields,
) -> Consent:
    if talk.discussed_at > now:
        raise NotComplete("The talk is still to come: correct day and time.")
    consent = Consent.objects.create(
        patient=patient, text=text, taken_by=actor, given_at=now, **asdict(talk), **fields
    )
    trail.add(
        f"consent.{consent.outcome}", consent, patient_id=patient.pk,
        after=snapshot(consent, ANSWER_FIELDS),
    )  # fmt: skip
    return consent
