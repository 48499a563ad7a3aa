"""Which advice goes with a session, and what lies behind a patient's link."""

from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.aftercare import (
    ADVISED_KINDS,
    EMERGENCY_LINES,
    SUPPLIED,
    AftercareKind,
    kinds_after,
)
from planning.sources import clinic_policy
from planning.vocabulary import ProductKind
from records.aftercare.errors import AftercareError, NothingGiven
from records.aftercare.models import (
    LINK_LASTS,
    AftercareSheet,
    AftercareText,
    CheckIn,
    CheckInAnswer,
)
from records.patients.models import Patient
from records.reminders.enums import MessageState
from records.reminders.tokens import TOKEN_LENGTH, digest_of
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.points import session_points

ANSWERED_FOR = timedelta(days=7)
"""So long after its question an answer is taken; later the patient is asked to call."""
LATEST = 5
"""So many sessions stand on the patient's page."""


@dataclass(frozen=True, slots=True)
class Section:
    """The advice for one kind of treatment; version 0 is what comes with the program."""

    kind: str
    title: str
    version: int
    advice: tuple[str, ...]
    signs: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Given:
    """One lot that was given, for whoever treats the patient next."""

    product: str
    lot: str
    regions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Content:
    """
    What a sheet says.

    Attributes:
        contact: whom the patient calls in an emergency, from the policy; `phone`: the clinic's.
        given: products, lots and places; none on a sheet of the front desk, which reads none.
    """

    contact: str
    phone: str
    sections: tuple[Section, ...]
    given: tuple[Given, ...]

    @property
    def emergency_lines(self) -> tuple[str, ...]:
        return EMERGENCY_LINES

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def of_json(cls, stored: dict[str, Any]) -> "Content":
        sections = tuple(Section(**section) for section in stored["sections"])
        given = tuple(Given(**row) for row in stored["given"])
        return cls(stored["contact"], stored["phone"], sections, given)


def section_of(kind: AftercareKind) -> Section:
    """The clinic's own latest words, else those that come with the program."""
    own = AftercareText.objects.filter(kind=kind).order_by("-version").first()
    if own is None:
        supplied = SUPPLIED[kind]
        sources = tuple(str(source) for source in supplied.sources)
        return Section(kind, kind.label, 0, supplied.lines, supplied.signs, sources)
    word = str(clinic_policy(f"aftercare, version {own.version}"))
    return Section(
        kind, kind.label, own.version, tuple(own.advice.splitlines()),
        tuple(own.signs.splitlines()), (word,),
    )  # fmt: skip


def content_of(session: TreatmentSession, policy: ClinicPolicy) -> Content:
    """
    What a sheet for this session says now.

    Raises:
        NothingGiven: nothing was injected that there is advice for.
        AftercareError: the policy names nobody to call.
    """
    if not (policy.emergency_contact or policy.phone):
        raise AftercareError(
            "A sheet says whom to call: the owner enters an emergency contact or a telephone "
            "under Policy first."
        )
    points = list(session_points(session))
    kinds = kinds_after(ProductKind(point.unit.lot.product.kind) for point in points)
    if not kinds:
        raise NothingGiven(
            "Nothing was given in this session that there is advice for: there is no sheet."
        )
    regions: dict[tuple[str, str], dict[str, None]] = {}
    for point in points:
        lot = point.unit.lot
        regions.setdefault((str(lot.product), lot.number), {})[point.region_label] = None
    return Content(
        contact=policy.emergency_contact or policy.phone,
        phone=policy.phone,
        sections=tuple(section_of(kind) for kind in kinds),
        given=tuple(Given(product, lot, tuple(named)) for (product, lot), named in regions.items()),
    )


def sheet_behind(token: str) -> AftercareSheet | None:
    """The sheet whose link this is, while it can be opened. None says nothing about why."""
    if len(token) != TOKEN_LENGTH:
        return None
    digest = digest_of(token)
    sheets = AftercareSheet.objects.filter(given_at__gt=timezone.now() - LINK_LASTS)
    return sheets.filter(Q(token_digest=digest) | Q(message__token_digest=digest)).first()


def check_in_behind(token: str) -> CheckIn | None:
    """The question whose link this is, while it can be answered. None says nothing about why."""
    if len(token) != TOKEN_LENGTH:
        return None
    asked = CheckIn.objects.select_related("session", "message").filter(
        message__token_digest=digest_of(token),
        message__due_at__gt=timezone.now() - ANSWERED_FOR,
    )
    return asked.exclude(message__state=MessageState.WITHDRAWN).first()


@dataclass(frozen=True, slots=True)
class Aftercare:
    """What a patient was given in writing and asked after one session, the latest first."""

    session: TreatmentSession
    sheets: list[AftercareSheet]
    check_in: CheckIn | None
    answers: list[CheckInAnswer]


def aftercare_of_patient(patient: Patient) -> list[Aftercare]:
    """The latest sessions in which something was given that there is advice for. Four queries."""
    advised = InjectionEntry.objects.standing().filter(
        session=OuterRef("pk"), unit__lot__product__kind__in=ADVISED_KINDS
    )
    sheets = AftercareSheet.objects.defer("pdf", "content").select_related("given_by", "message")
    answers = CheckInAnswer.objects.select_related("settled_by")
    sessions = (
        TreatmentSession.objects.standing()
        .filter(Exists(advised), patient=patient)
        .select_related("injector", "check_in__message")
        .prefetch_related(
            Prefetch("aftercare_sheets", sheets), Prefetch("check_in__answers", answers)
        )
        .order_by("-started_at", "-pk")
    )
    return [_aftercare(session) for session in sessions[:LATEST]]


def _aftercare(session: TreatmentSession) -> Aftercare:
    check_in: CheckIn | None = getattr(session, "check_in", None)
    answers = list(check_in.answers.all()) if check_in else []
    return Aftercare(session, list(session.aftercare_sheets.all()), check_in, answers)


def sheets_of(session: TreatmentSession) -> QuerySet[AftercareSheet]:
    """The latest first, without the bytes of those that were printed."""
    return session.aftercare_sheets.defer("pdf", "content").select_related("given_by", "message")


def answers_of(session: TreatmentSession) -> QuerySet[CheckInAnswer]:
    """What the patient answered after a session, the latest first."""
    answers = CheckInAnswer.objects.filter(check_in__session=session)
    return answers.select_related("settled_by")
