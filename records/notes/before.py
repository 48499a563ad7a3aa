"""What was there before the needle: consents, medical history, stops, photographs."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from planning.consents import ConsentKind, kinds_for
from planning.vocabulary import ProductKind
from records.consents.models import ConsentPaper
from records.consents.queries import Standing, standings
from records.gates.models import GateDecision
from records.gates.queries import as_they_stand
from records.photographs.models import Photograph
from records.screening.enums import CheckKind
from records.screening.models import HistoryCheck, HistoryForm
from records.sessions.models import InjectionEntry, TreatmentSession


@dataclass(frozen=True)
class ConsentUsed:
    """A consent that the session asked for, as it stood when the session was started."""

    standing: Standing
    digest: str
    """SHA-256 of the consent's paper; empty where there is no consent, or no paper of it."""


@dataclass(frozen=True)
class HistoryUsed:
    """
    The medical history that was gone by.

    Attributes:
        confirmed: the last "nothing changed" before the session.
        checked: the last reading by an injector, until the session was signed.
    """

    form: HistoryForm
    confirmed: HistoryCheck | None
    checked: HistoryCheck | None


@dataclass(frozen=True)
class Before:
    """`photographs` are (what it shows, how many) of the day, in the order they were taken."""

    consents: list[ConsentUsed]
    history: HistoryUsed | None
    stops: list[GateDecision]
    photographs: list[tuple[str, int]]


def before_session(
    session: TreatmentSession,
    points: Sequence[InjectionEntry],
    decisions: Sequence[GateDecision],
) -> Before:
    """As it stood at the start of `session`; what was changed later does not count."""
    shown = [row.shot.label for row in photographs_of_day(session).order_by("taken_at", "id")]
    kinds = {ProductKind(point.unit.lot.product.kind) for point in points}
    return Before(
        consents=_consents(session, kinds, has_photographs=bool(shown)),
        history=_history(session),
        stops=as_they_stand(decisions),
        photographs=list(Counter(shown).items()),
    )


def photographs_of_day(session: TreatmentSession) -> QuerySet[Photograph]:
    """Those taken in the session, and others of the patient from the same day of the clinic."""
    day = timezone.localdate(session.started_at)
    start = timezone.make_aware(datetime.combine(day, time.min))
    of_day = Q(session=None, taken_at__gte=start, taken_at__lt=start + timedelta(days=1))
    return session.patient.photographs.standing().filter(Q(session=session) | of_day)


def _consents(
    session: TreatmentSession, given: set[ProductKind], *, has_photographs: bool
) -> list[ConsentUsed]:
    asked = kinds_for(given) + [ConsentKind.PHOTOGRAPHS] * has_photographs
    if not asked:
        return []
    found = standings(session.patient, session.started_at)
    papers = ConsentPaper.objects.filter(
        consent__in=[found[kind].consent for kind in asked if found[kind].consent],
        shows_withdrawal=False,
    )
    digests = dict(papers.values_list("consent_id", "digest"))
    return [
        ConsentUsed(one, digests.get(one.consent.pk, "") if one.consent else "")
        for one in (found[kind] for kind in asked)
    ]


def _history(session: TreatmentSession) -> HistoryUsed | None:
    forms = session.patient.histories.answered().filter(answered_at__lte=session.started_at)
    form = forms.order_by("-answered_at", "-id").first()
    if form is None:
        return None
    checks = form.checks.filter(at__lte=session.signed_at or timezone.now()).select_related("by")
    renewed = [row for row in checks if CheckKind(row.kind).renews]
    read = [row for row in checks if not CheckKind(row.kind).renews]
    before_start = [row for row in renewed if row.at <= session.started_at]
    return HistoryUsed(
        form=form,
        confirmed=before_start[-1] if before_start else None,
        checked=read[-1] if read else None,
    )
