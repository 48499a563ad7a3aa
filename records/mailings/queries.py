"""Where a mailing stands, and what a person still has to look at."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import BooleanField, Count, ExpressionWrapper, Q, QuerySet
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.merging import placeholders
from records.mailings.enums import MailingState
from records.mailings.models import Mailing, MailingItem, MailTemplate
from records.patients.models import Patient

UNCLEAR_AFTER = timedelta(minutes=5)
"""
An e-mail that is being sent for so long was cut off: the mail server is given 10 seconds for each
of a handful of answers (settings.EMAIL_TIMEOUT).
"""


@dataclass(frozen=True)
class Progress:
    """How many items stand how. `unclear` ones are among those being sent."""

    waiting: int
    sending: int
    unclear: int
    written: int
    sent: int
    failed: int
    left_out: int

    @property
    def done(self) -> int:
        return self.written + self.sent

    @property
    def to_do(self) -> int:
        """What there is to write or send: all but those without an address."""
        return self.waiting + self.sending + self.done + self.failed

    @property
    def settled(self) -> int:
        return self.done + self.failed

    @property
    def is_at_end(self) -> bool:
        """Nothing is left that a run could do; what failed or is unclear waits for a person."""
        return self.waiting == 0


def progress(mailing: Mailing) -> Progress:
    """One query, however many items."""
    return Progress(**mailing.items.aggregate(**_figures()))


def mailings_with_progress(mailings: Iterable[Mailing]) -> list[tuple[Mailing, Progress]]:
    """Each with where it stands; one query for all."""
    listed, figures = list(mailings), _figures()
    by_mailing = MailingItem.objects.filter(mailing__in=listed).order_by().values("mailing")
    found = {
        pk: Progress(**dict(zip(figures, counts, strict=True)))
        for pk, *counts in by_mailing.annotate(**figures).values_list("mailing", *figures)
    }
    return [(mailing, found[mailing.pk]) for mailing in listed]


def _figures() -> dict[str, Count]:
    standing = {each.value: Q(state=each) for each in MailingState}
    standing["unclear"] = _unclear(timezone.now())
    return {name: Count("pk", filter=condition) for name, condition in standing.items()}


def _unclear(now: datetime) -> Q:
    return Q(state=MailingState.SENDING, at__lt=now - UNCLEAR_AFTER)


def is_unclear(item: MailingItem) -> bool:
    """Whether its sending was cut off, so that a person must decide."""
    return (
        item.state == MailingState.SENDING
        and item.at is not None
        and item.at < timezone.now() - UNCLEAR_AFTER
    )


def items_to_look_at(mailing: Mailing) -> QuerySet[MailingItem]:
    """Failed, cut off, left out, or printed with letters missing: those to decide on come first."""
    to_decide = Q(state=MailingState.FAILED) | _unclear(timezone.now())
    return (
        mailing.items.filter(to_decide | ~Q(problem=""))
        .select_related("patient")
        .annotate(to_decide=ExpressionWrapper(to_decide, output_field=BooleanField()))
        .order_by("-to_decide", "position")
    )


def templates_for(known: set[str]) -> list[MailTemplate]:
    """Templates in use that leave nothing open but `known` placeholders."""
    return [
        template
        for template in MailTemplate.objects.filter(is_active=True)
        if set(placeholders(template.subject + "\n" + template.body)) <= known
    ]


def words_of(item: MailingItem, policy: ClinicPolicy) -> dict[str, str]:
    """What every placeholder of this patient's copy stands for."""
    return item.words | common_words(item.patient, policy, item.mailing.started_at)


def common_words(patient: Patient, policy: ClinicPolicy, started_at: datetime) -> dict[str, str]:
    """What the placeholders stand for that are known in every text."""
    return {
        "name": patient.full_name,
        "clinic": policy.name,
        # No line ends inside a number.
        "phone": policy.phone.replace(" ", "\N{NO-BREAK SPACE}"),
        "date": f"{timezone.localtime(started_at):%-d %B %Y}",
    }
