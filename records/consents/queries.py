"""The texts in force, and how it stands with a patient's consents at a moment."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from clinic.policy.queries import current_policy
from planning.consents import (
    Answer,
    ConsentKind,
    ConsentState,
    CoolingOff,
    Outcome,
    cooling_off,
    state_of,
)
from planning.vocabulary import ProductKind
from records.consents.models import Consent, ConsentText
from records.consents.supplied import SUPPLIED, Risk, Wording
from records.patients.models import Patient


@dataclass(frozen=True)
class TextShown:
    """A version of a text; `is_supplied`: it came with the program and nobody adapted it."""

    kind: ConsentKind
    version: int
    wording: Wording
    is_supplied: bool

    @property
    def earlier(self) -> range:
        """The numbers of the versions before it."""
        return range(1, self.version)


def text_in_force(kind: ConsentKind) -> TextShown:
    """
    The clinic's latest version, or the supplied text while there is none.

    The supplied text is version 1, whether or not a consent has made a row of it yet.
    """
    return _shown(kind, ConsentText.objects.filter(kind=kind).first())


def text_of(kind: ConsentKind, version: int) -> TextShown | None:
    """That version, also where a later one is in force; None where there never was one."""
    now = text_in_force(kind)
    if version not in now.earlier:
        return now if version == now.version else None
    return _shown(kind, ConsentText.objects.filter(kind=kind, version=version).first())


def _shown(kind: ConsentKind, stored: ConsentText | None) -> TextShown:
    if stored is None:
        return TextShown(kind, 1, SUPPLIED[kind], is_supplied=True)
    risks = tuple(Risk(risk.words, risk.source) for risk in stored.risks.all())
    wording = Wording(stored.title, stored.body, stored.valid_days, risks)
    return TextShown(kind, stored.version, wording, is_supplied=stored.written_by_id is None)


@dataclass(frozen=True)
class Standing:
    """
    How it stands with one kind of consent of one patient.

    Attributes:
        consent: the latest answer, whatever became of it.
        wait: the cooling-off time that counts; None where there is none.
    """

    kind: ConsentKind
    state: ConsentState
    consent: Consent | None
    wait: CoolingOff | None

    @property
    def is_valid(self) -> bool:
        return self.state is ConsentState.VALID

    @property
    def is_given(self) -> bool:
        """Whether nothing is to be asked: it holds, if need be after the cooling-off time."""
        return self.state in (ConsentState.VALID, ConsentState.COOLING_OFF)

    @property
    def badge(self) -> str:
        """The look of its state, as `ui/badge.html` names it."""
        return _BADGES[self.state]

    @property
    def when_text(self) -> str:
        """ "until 3 Jan 2027"; the day that belongs to the state, if there is one."""
        consent = self.consent
        if consent is None:
            return ""
        if self.state is ConsentState.COOLING_OFF and self.wait:
            return f"not before {self.wait.ends_at:%-d %b %Y, %H:%M}"
        if self.state in (ConsentState.VALID, ConsentState.RAN_OUT):
            return f"until {consent.valid_until:%-d %b %Y}"
        moment = consent.withdrawn_at or consent.given_at
        return f"on {timezone.localtime(moment):%-d %b %Y}"


_BADGES = {
    ConsentState.NONE: "draft",
    ConsentState.VALID: "done",
    ConsentState.COOLING_OFF: "due",
    ConsentState.RAN_OUT: "expired",
    ConsentState.TEXT_CHANGED: "due",
    ConsentState.WITHDRAWN: "cancelled",
    ConsentState.REFUSED: "cancelled",
    ConsentState.DECLINED: "cancelled",
}


def standings(patient: Patient, at: datetime) -> dict[ConsentKind, Standing]:
    """As `standings_of_patients`, of one and by the clinic's policy."""
    days = current_policy(only=["cooling_off_days"]).cooling_off_days
    return standings_of_patients([patient.pk], at, days)[patient.pk]


def standings_of_patients(
    patients: Iterable[int], at: datetime, days: int | None
) -> dict[int, dict[ConsentKind, Standing]]:
    """
    By patient, each kind as it stood at a moment: what was answered or withdrawn later does not
    count. Three queries, however many patients and answers there are.

    Args:
        days: the cooling-off time of the clinic's policy; None: it checks none.
    """
    patients = list(patients)
    answered = Consent.objects.filter(patient__in=patients, given_at__lte=at)
    latest: dict[tuple[int, str], Consent] = {}
    for consent in answered.select_related("text").latest_first():
        latest.setdefault((consent.patient_id, consent.text.kind), consent)
    versions, treated = _versions_at(at), products_before(patients, at)

    def standing(patient: int, kind: ConsentKind) -> Standing:
        consent = latest.get((patient, kind))
        is_current = consent is not None and consent.text.version >= versions.get(kind, 1)
        is_first = not treated[patient] & kind.products
        return _standing(kind, consent, at, is_current=is_current, days=days, is_first=is_first)

    return {
        patient: {kind: standing(patient, kind) for kind in ConsentKind} for patient in patients
    }


def _standing(
    kind: ConsentKind,
    consent: Consent | None,
    at: datetime,
    *,
    is_current: bool,
    days: int | None,
    is_first: bool,
) -> Standing:
    if consent is None:
        return Standing(kind, state_of(None, at), None, None)
    wait = _wait(kind, consent, days) if is_first else None
    answer = Answer(
        outcome=Outcome(consent.outcome),
        has_current_text=is_current,
        valid_until=consent.valid_until,
        not_before=wait.ends_at if wait else None,
        is_withdrawn=consent.was_withdrawn_at(at),
    )
    return Standing(kind, state_of(answer, timezone.localtime(at)), consent, wait)


def _wait(kind: ConsentKind, consent: Consent, days: int | None) -> CoolingOff | None:
    """The longer of what the patient was told and what the policy says by now."""
    readings = [consent.cooling_off, first_wait(kind, consent.discussed_at, days)]
    return max((wait for wait in readings if wait), key=lambda wait: wait.ends_at, default=None)


def first_wait(kind: ConsentKind, discussed_at: datetime, days: int | None) -> CoolingOff | None:
    """The cooling-off time before a first treatment; None where the clinic checks none."""
    if days is None or not kind.has_cooling_off:
        return None
    return cooling_off(timezone.localtime(discussed_at), days)


def _versions_at(moment: datetime) -> dict[str, int]:
    """The version of each kind that was in force; kinds without a row have the supplied one."""
    texts = ConsentText.objects.filter(written_at__lte=moment).order_by("version")
    return dict(texts.values_list("kind", "version"))


def products_before(patients: Iterable[int], at: datetime) -> dict[int, set[ProductKind]]:
    """By patient, the kinds of product that signed sessions gave before a moment: one query."""
    found: dict[int, set[ProductKind]] = {patient: set() for patient in patients}
    given = Patient.objects.filter(
        pk__in=found,
        sessions__signed_at__isnull=False,
        sessions__started_at__lt=at,
        sessions__points__isnull=False,
        sessions__points__removed_at__isnull=True,
    )
    rows = given.order_by().values_list("pk", "sessions__points__unit__lot__product__kind")
    for patient, kind in rows.distinct():
        found[patient].add(ProductKind(kind))
    return found


def consents_with_text() -> QuerySet[Consent]:
    """Consents with all that their page and their paper show."""
    people = ("patient", "text", "taken_by", "withdrawn_by")
    return Consent.objects.select_related(*people).prefetch_related("ticks__risk")
