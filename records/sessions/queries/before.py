"""What is told of a session about the time before its first point."""

from collections.abc import Iterable, Iterator, Sequence

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.sources import TIME_OUT, clinic_policy
from records.gates.enums import How
from records.gates.models import GateDecision
from records.gates.queries import as_they_stand
from records.sessions.models import InjectionEntry
from records.sessions.queries.shown import ShownFlag
from records.time_out.queries import TimeOut


def stop_flags(decisions: Iterable[GateDecision]) -> Iterator[ShownFlag]:
    """Each stop that stood at the start, with the reason once there is one."""
    for row in as_they_stand(decisions):
        if row.how == How.STOOD:
            label, text = (
                "Not settled",
                (
                    "The session was started while this stood. Write down why, or settle it before "
                    "going on."
                ),
            )
        else:
            label = "Decision"
            text = f"{How(row.how).label} by {row.decided_by}. Reason given: {row.reason}"
        yield ShownFlag("stop", label, row.title, text, row.source)


def time_out_flags(
    points: Sequence[InjectionEntry], time_outs: Sequence[TimeOut], policy: ClinicPolicy
) -> Iterator[ShownFlag]:
    """Points given before anybody paused, and what was not so when they did."""
    if policy.asks_time_out and points:
        yield from _without_pause(points, time_outs)
    for time_out in time_outs:
        if time_out.not_confirmed:
            yield ShownFlag(
                "caution",
                "Time-out",
                f"Not all was confirmed at {timezone.localtime(time_out.at):%H:%M}.",
                f"{time_out.exceptions}.",
                str(clinic_policy("time-out before the first point")),
            )


def _without_pause(
    points: Sequence[InjectionEntry], time_outs: Sequence[TimeOut]
) -> Iterator[ShownFlag]:
    paused = min((time_out.at for time_out in time_outs), default=None)
    early = tuple(point.number for point in points if paused is None or point.tapped_at < paused)
    if early:
        title = "No time-out is on record." if paused is None else "Given before the time-out."
        yield ShownFlag(
            "caution",
            "Time-out",
            title,
            "Identity, allergies, consent, photographs, units and the emergency kit are said aloud "
            "before the first point.",
            str(TIME_OUT),
            early,
        )
