"""Whom a case's letters and e-mails go to, and with which words."""

from collections.abc import Collection, Iterable, Iterator

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from planning.atlas.regions import NAMES, Region
from planning.merging import Placeholder, in_line
from planning.names import fold
from records.mailings.enums import MailingChannel
from records.mailings.models import Mailing
from records.mailings.queries import Progress, mailings_with_progress
from records.patients.models import Patient
from records.recalls.enums import ContactOutcome, Reach, Whom
from records.recalls.models import CaseContact, CasePatient, RecallCase
from records.recalls.queries.extent import Extent

CHUNK = 500

RECALL_WORDS = (
    Placeholder("product", "what the patient was given of the recall", "HA filler firm, 1 mL"),
    Placeholder("maker", "who makes it", "Fennimore Gel Works"),
    Placeholder("lot", "the lot numbers the patient got of it", "7741"),
    Placeholder("treated_on", "the days on which it was given", "3 March and 5 May 2026"),
    Placeholder("regions", "where it was injected, in plain words", "cheekbone and chin"),
    Placeholder("reference", "the number of the maker's notice", "FSN-2026-014"),
)


_DECLINED = Exists(
    CaseContact.objects.filter(person=OuterRef("pk"), outcome=ContactOutcome.DECLINED.value)
)


def want_no_more(mailing: Mailing, patients: Collection[int]) -> dict[int, str]:
    """Who of them wants no further contact about the case that the mailing belongs to."""
    declined = CasePatient.objects.filter(_DECLINED, case__mailings__mailing=mailing)
    ids = declined.filter(patient__in=patients).values_list("patient_id", flat=True)
    return dict.fromkeys(ids, "Wants no further contact.")


def recipients(case: RecallCase, whom: Whom) -> QuerySet[CasePatient]:
    """Those of the case who are written to; never who wants no further contact."""
    people = CasePatient.objects.filter(~_DECLINED, case=case)
    if whom is Whom.TO_CONTACT:
        return people.standing(Reach.TO_CONTACT)
    if whom is Whom.NOT_REACHED:
        return people.with_reach().filter(is_reached=False)
    return people


def people_with_words(
    case: RecallCase, extent: Extent, whom: Whom
) -> Iterator[tuple[Patient, dict[str, str]]]:
    """
    Each recipient by name, with the words of RECALL_WORDS, a few hundred at a time.

    Somebody of whom nothing of the case is in the record any more is left out: there is nothing
    that a letter could say.
    """
    rows = recipients(case, whom).order_by("pk").values_list("patient_id", "patient__full_name")
    # Not by the database: the two order names differently.
    ids = [pk for pk, _ in sorted(rows, key=lambda row: (fold(row[1]), row[0]))]
    for first in range(0, len(ids), CHUNK):
        part = ids[first : first + CHUNK]
        patients = Patient.objects.in_bulk(part)
        words = words_by_patient(case, extent, part)
        yield from ((patients[pk], words[pk]) for pk in part if pk in words)


def words_by_patient(
    case: RecallCase, extent: Extent, patients: Iterable[int]
) -> dict[int, dict[str, str]]:
    """What each patient got of the case, as a letter says it, in one query."""
    points = (
        extent.points()
        .filter(session__patient__in=patients)
        .order_by("session__started_at", "number")
        .values_list(
            "session__patient_id", "session__started_at", "unit__lot__product__name",
            "unit__lot__product__maker", "unit__lot__number", "region",
        )
    )  # fmt: skip
    got: dict[int, list[tuple[str, ...]]] = {}
    for patient, at, product, maker, lot, region in points:
        day = f"{timezone.localtime(at):%-d %B %Y}"
        where = NAMES[Region(region)].trade
        got.setdefault(patient, []).append((product, maker, lot, day, where))
    return {patient: _words(rows) | {"reference": case.reference} for patient, rows in got.items()}


def _words(rows: list[tuple[str, ...]]) -> dict[str, str]:
    """Product, maker, lot, day and place of each point, as one line of each."""
    names = ("product", "maker", "lot", "treated_on", "regions")
    columns = zip(*rows, strict=True)
    return {name: in_line(column) for name, column in zip(names, columns, strict=True)}


def without_points(people: QuerySet[CasePatient], extent: Extent) -> int:
    """How many of them have nothing of the case in their record any more, so get no letter."""
    return people.exclude(patient__in=extent.points().values("session__patient")).count()


def without_address(people: QuerySet[CasePatient], channel: MailingChannel) -> int:
    """How many of them cannot be written to this way."""
    if channel is MailingChannel.LETTER:
        return people.filter(patient__address="").count()
    return people.filter(patient__email="").count()


def mailings_of(case: RecallCase) -> list[tuple[Mailing, Progress]]:
    """The case's mailings, the newest first, and where each stands."""
    mailings = Mailing.objects.filter(recall__case=case).select_related("started_by")
    return mailings_with_progress(mailings)
