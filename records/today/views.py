"""The start page: what to do now, for each role the person holds."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.audit_heads.queries import problem_of_mail
from clinic.background.queries import Silence, worker_silence
from clinic.counts.models import StockCount
from clinic.fridges.queries import Standing as FridgeStanding
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.stock.enums import StockFilter
from planning.follow_up import Standing
from records.record_access.queries.findings import open_questions
from records.reminders.enums import AnswerKind
from records.reminders.models import Answer
from records.reminders.queries import reminder_policy
from records.today.queries import (
    DeskDay,
    InjectorDay,
    OwnerDay,
    desk_day,
    first_steps,
    followed_by_all,
    injector_day,
    owner_day,
)


@dataclass(frozen=True, slots=True)
class Tile:
    """One count of the owner's part; `state` colours it when there is something to count."""

    label: str
    value: int
    url: str
    icon: str
    worry: str = ""
    note: str = ""

    @property
    def state(self) -> str:
        return self.worry if self.value else ""


@dataclass(frozen=True, slots=True)
class Notice:
    """One line about something that waits; it is there only while it does."""

    text: str
    url: str
    icon: str


@dataclass(frozen=True, slots=True)
class FirstStep:
    """One thing a new clinic does before its first session (`ui/steps.html`)."""

    label: str
    url: str
    state: str


FIRST_STEPS = {
    "policy-edit": "Save the policy",
    "staff-create": "Add whoever injects",
    "product-create": "Enter a product",
    "receiving": "Receive its lot",
}


@allow(*EVERYONE)
@require_GET
def today(request):
    now, policy, roles = timezone.now(), current_policy(), request.user.roles
    day = timezone.localdate(now)
    followed = followed_by_all(now, policy)
    desk = desk_day(now, followed) if Role.FRONT_DESK in roles else None
    injector = injector_day(request.user, now, policy) if Role.INJECTOR in roles else None
    owner = owner_day(now, policy, followed) if Role.OWNER in roles else None
    if injector and (following := injector.parts.first):
        # The alerts shown beside the name are read from the patient's record.
        patient = following.patient
        record_read(request.user, patient, patient_id=patient.pk, action="read.alerts")
    context = {
        "now": now,
        "day": day,
        "policy": policy,
        "silence": silence_of_worker() if desk or owner else None,
        "desk": desk,
        "desk_tiles": desk_tiles(desk) if desk else [],
        "desk_notices": list(desk_notices(desk)) if desk else [],
        "injector": injector,
        # Whoever is the owner as well has them among the owner's.
        "injector_notices": list(injector_notices(injector, policy))
        if injector and not owner
        else [],
        "owner": owner,
        "tiles": owner_tiles(owner, policy) if owner else [],
        "notices": list(owner_notices(owner, policy)) if owner else [],
        "first_steps": steps_left() if owner else [],
    }
    return render(request, "today/today.html", context)


def silence_of_worker() -> Silence | None:
    """Nobody misses the worker while no messages are sent."""
    return worker_silence() if reminder_policy().is_on else None


def desk_tiles(desk: DeskDay) -> list[Tile]:
    """How many are here, late and expected, and how many to turn to."""
    day, following = reverse("diary"), reverse("follow-up")
    parts, counts = desk.parts, desk.follow_up.counts
    return [
        Tile("Here", len(parts.here), day, "state-arrived", "good"),
        Tile("Late", len(parts.late), day, "state-due", "caution"),
        Tile("Still expected", parts.expected, day, "appointments"),
        Tile(
            "Follow-up overdue",
            counts[Standing.OVERDUE],
            f"{following}?standing=overdue",
            "state-overdue",
            "stop",
        ),
        Tile(
            "Follow-up due", counts[Standing.DUE], f"{following}?standing=due", "state-due",
            "caution",
        ),
    ]  # fmt: skip


def desk_notices(desk: DeskDay) -> Iterator[Notice]:
    """What cannot wait, a line each."""
    if desk.unfinished_since:
        visits = _counted(desk.unfinished, "visit")
        since = desk.unfinished_since
        text = f"Say what became of {visits} of earlier days, the first of {since:%a %-d %b %Y}"
        day = f"{reverse('appointment-list')}?day={since.isoformat()}"
        yield Notice(text, day, "caution")
    if desk.asked:
        yield Notice(_asked(desk.asked), reverse("reminder-list"), "caution")
    if desk.to_settle:
        came_back = _counted(desk.to_settle, "message")
        yield Notice(f"To settle: {came_back} that came back", reverse("reminder-list"), "mail")


def _asked(answers: list[Answer]) -> str:
    """What patients ask for by the links of their messages, the nearest visit by name."""
    visit = answers[0].appointment
    when = timezone.localtime(answers[0].starts_at)
    says = "cannot come" if answers[0].kind == AnswerKind.CANNOT else "asks for another time than"
    text = f"{visit.patient} {says} on {when:%a %-d %b, %H:%M}"
    more = len(answers) - 1
    return f"{text}, and {more:,} more ask{'s' if more == 1 else ''} for a change" if more else text


def injector_notices(injector: InjectorDay, policy: ClinicPolicy) -> Iterator[Notice]:
    """What fridges and counts ask for."""
    yield from fridge_notices(injector.fridges, policy)
    yield from count_notices(injector.counts)


def steps_left() -> list[FirstStep]:
    """All first steps while one is left, the first of those as the current one; else none."""
    done = first_steps()
    following = next((name for name in FIRST_STEPS if not done[name]), None)
    if following is None:
        return []
    return [
        FirstStep(
            label,
            reverse(name),
            "done" if done[name] else "current" if name == following else "todo",
        )
        for name, label in FIRST_STEPS.items()
    ]


def owner_tiles(owner: OwnerDay, policy: ClinicPolicy) -> list[Tile]:
    """The owner's counts, each with the page that says more."""
    stock, sessions = reverse("stock-list"), reverse("session-list")
    overdue = f"{reverse('follow-up')}?standing=overdue"
    within = f"within {policy.expiry_warning_days} days"
    first = owner.follow_up[Standing.FIRST]
    return [
        Tile(
            "Expired lots", owner.expired_lots, f"{stock}?show={StockFilter.EXPIRED}",
            "state-expired", "stop", "with something left",
        ),
        Tile(
            "Lots expiring", owner.expiring_lots, f"{stock}?show={StockFilter.SOON}",
            "state-due", "caution", within,
        ),
        Tile(
            "Quarantined lots", owner.quarantined_lots, f"{stock}?show={StockFilter.QUARANTINED}",
            "state-quarantined", "stop", "with something left",
        ),
        Tile(
            "Unsigned sessions", owner.unsigned_since_yesterday, sessions, "signature",
            "caution", "started before today",
        ),
        Tile(
            "Follow-up overdue", owner.follow_up[Standing.OVERDUE], overdue, "state-overdue",
            "stop", f"{first} more to come first" if first else "not booked",
        ),
    ]  # fmt: skip


def owner_notices(owner: OwnerDay, policy: ClinicPolicy) -> Iterator[Notice]:
    """What waits in the stock, a line each with the page that says more."""
    yield from fridge_notices(owner.fridges, policy)
    if owner.urgent_lots:
        within = _counted(policy.expiry_urgent_days, "day")
        text = (
            f"Within {within}: {_counted(owner.urgent_lots, 'lot')} with something left to expire"
        )
        urgent = f"{reverse('stock-list')}?show={StockFilter.URGENT}"
        yield Notice(text, urgent, "state-urgent")
    if owner.products_to_order:
        text = f"To order now: {_counted(owner.products_to_order, 'product')}"
        yield Notice(text, reverse("reorder"), "reorder")
    yield from count_notices(owner.counts)
    yield from trail_notices()


def trail_notices() -> Iterator[Notice]:
    """Looks at records that are asked about, and a head of the trail that did not leave."""
    if questions := open_questions():
        text = f"To answer: {_counted(questions, 'question')} about who opened records"
        yield Notice(text, reverse("unusual-access"), "audit")
    if problem := problem_of_mail():
        text = f"The head of the audit trail was not mailed: {problem}"
        yield Notice(text, reverse("audit-head-list"), "mail")


def fridge_notices(fridges: list[FridgeStanding], policy: ClinicPolicy) -> Iterator[Notice]:
    waiting = [fridge.place.name for fridge in fridges if fridge.waits]
    overdue = [fridge.place.name for fridge in fridges if fridge.is_overdue]
    address = reverse("fridge-list")
    if waiting:
        text = f"Out of range, and not decided yet: {', '.join(waiting)}"
        yield Notice(text, address, "state-warm")
    if overdue:
        hours = _counted(policy.reading_hours, "hour")
        text = f"No reading for more than {hours}: {', '.join(overdue)}"
        yield Notice(text, address, "thermometer")


def count_notices(counts: Iterable[StockCount]) -> Iterator[Notice]:
    for count in counts:
        text = f"Count not posted yet: {count.what}, started {count.started_at:%-d %b %Y}"
        yield Notice(text, reverse("count-detail", kwargs={"pk": count.pk}), "count")


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
