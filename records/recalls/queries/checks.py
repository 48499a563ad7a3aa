"""The effectiveness check: who was drawn, what came of it, how it stands."""

from dataclasses import dataclass

from django.db.models import Count, Q

from planning.recall_checks import Figure, Level, sample_size
from planning.sources import RECALL_EFFECTIVENESS, Source
from records.recalls.enums import CheckResult
from records.recalls.models import CaseCheck, RecallCase


@dataclass(frozen=True, slots=True)
class CheckStanding:
    """
    How the check of a case stands.

    Attributes:
        wanted: how large the sample is by the case's level and its people now; 0 in a drill.
        drawn: how large it is.
        figure: against what is wanted.
        not_effective, not_reached: people of the sample who do not know of it, or were not asked.
    """

    level: Level
    percent: int | None
    people: int
    wanted: int
    drawn: int
    figure: Figure
    not_effective: int
    not_reached: int

    source: Source = RECALL_EFFECTIVENESS

    @property
    def is_asked_for(self) -> bool:
        return self.level is not Level.E

    @property
    def may_grow(self) -> bool:
        """More patients were found, or the level was raised, since it was drawn."""
        return self.drawn < self.wanted

    @property
    def share(self) -> str:
        """ "10 % of 37 people"."""
        percent = self.level.percent if self.percent is None else self.percent
        return f"{percent} % of {self.people} {'person' if self.people == 1 else 'people'}"


def level_of(case: RecallCase) -> Level:
    return Level[case.level]


def seed_of(case: RecallCase) -> str:
    """What the draw is repeated from: it stands in the report, with how the people are ranked."""
    return f"{case.number} {case.reference}"


def check_standing(case: RecallCase) -> CheckStanding:
    """In two queries."""
    people = case.people.count()
    results = {result.value: Count("pk", filter=Q(result=result)) for result in CheckResult}
    counts = CaseCheck.objects.filter(person__case=case).aggregate(
        drawn=Count("pk"), checked=Count("pk", filter=~Q(result="")), **results
    )
    asked = 0 if case.is_drill else people
    wanted = sample_size(level_of(case), asked, case.level_percent)
    return CheckStanding(
        level=level_of(case),
        percent=case.level_percent,
        people=people,
        wanted=wanted,
        drawn=counts["drawn"],
        figure=Figure(counts["checked"], counts[CheckResult.EFFECTIVE], wanted),
        not_effective=counts[CheckResult.NOT_EFFECTIVE],
        not_reached=counts[CheckResult.NOT_REACHED],
    )


def checks_of(case: RecallCase):
    """The sample in the order of the draw."""
    return (
        CaseCheck.objects.filter(person__case=case)
        .select_related("person__patient", "by")
        .order_by("position")
    )


def next_check(check: CaseCheck) -> CaseCheck | None:
    """Whom to ask next: the first after this one without a result, else the first at all."""
    open_ones = checks_of(check.person.case).filter(result="").exclude(pk=check.pk)
    return open_ones.filter(position__gt=check.position).first() or open_ones.first()
