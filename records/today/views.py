"""The start page: what to do now, for each role the person holds."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import EVERYONE, allow
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.stock.enums import StockFilter
from records.appointments.enums import AppointmentState
from records.today.queries import DeskDay, OwnerDay, desk_day, first_steps, injector_day, owner_day


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
    day, policy, roles = timezone.localdate(), current_policy(), request.user.roles
    desk = desk_day(day, policy) if Role.FRONT_DESK in roles else None
    owner = owner_day(day, policy) if Role.OWNER in roles else None
    context = {
        "day": day,
        "policy": policy,
        "desk": desk,
        "desk_tiles": desk_tiles(desk) if desk else [],
        "injector": injector_day(request.user, day, policy) if Role.INJECTOR in roles else None,
        "owner": owner,
        "tiles": owner_tiles(owner, policy) if owner else [],
        "notices": list(owner_notices(owner, policy)) if owner else [],
        "first_steps": steps_left() if owner else [],
    }
    return render(request, "today/today.html", context)


def desk_tiles(desk: DeskDay) -> list[Tile]:
    """How many are expected and waiting, and how many to call."""
    day, reviews = reverse("diary"), reverse("review-list")
    states = [appointment.state for appointment in desk.appointments]
    expected, waiting = (
        states.count(AppointmentState.BOOKED),
        states.count(AppointmentState.ARRIVED),
    )
    counts = desk.reviews.counts
    return [
        Tile("Still expected", expected, day, "appointments"),
        Tile("Arrived", waiting, day, "state-arrived"),
        Tile(
            "Reviews overdue",
            counts["overdue"],
            f"{reviews}?standing=overdue",
            "state-overdue",
            "stop",
        ),
        Tile("Reviews due", counts["due"], f"{reviews}?standing=due", "state-due", "caution"),
    ]


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
    overdue = f"{reverse('review-list')}?standing=overdue"
    within = f"within {policy.expiry_warning_days} days"
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
            "Reviews overdue", owner.overdue_reviews, overdue, "state-overdue", "stop",
            "not booked",
        ),
    ]  # fmt: skip


def owner_notices(owner: OwnerDay, policy: ClinicPolicy) -> Iterator[Notice]:
    """What waits in the stock, a line each with the page that says more."""
    waiting = [fridge.place.name for fridge in owner.fridges if fridge.waits]
    overdue = [fridge.place.name for fridge in owner.fridges if fridge.is_overdue]
    fridges = reverse("fridge-list")
    if waiting:
        text = f"Out of range, and not decided yet: {', '.join(waiting)}"
        yield Notice(text, fridges, "state-warm")
    if overdue:
        hours = _counted(policy.reading_hours, "hour")
        text = f"No reading for more than {hours}: {', '.join(overdue)}"
        yield Notice(text, fridges, "thermometer")
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
    for count in owner.counts:
        text = f"Count not posted yet: {count.what}, started {count.started_at:%-d %b %Y}"
        yield Notice(text, reverse("count-detail", kwargs={"pk": count.pk}), "count")


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
