"""What a session's page warns of: the limits of the planning service, and written deviations."""

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.quarantine.models import Quarantine
from planning.flags import FlagLevel
from planning.limits import session_flags
from planning.sources import PLAUSIBLE_ENTRY
from planning.vocabulary import ProductKind
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.around import Around
from records.sessions.queries.before import stop_flags, time_out_flags
from records.sessions.queries.facts import session_facts
from records.sessions.queries.held import Hold, holds_on
from records.sessions.queries.shown import ShownFlag


def shown_flags(
    session: TreatmentSession,
    points: Iterable[InjectionEntry],
    tray: Iterable[SessionUnit],
    policy: ClinicPolicy | None = None,
    around: Around | None = None,
) -> list[ShownFlag]:
    """
    Quarantine and deviations first, then what the planning service asks about. Of a signed session
    what stood there when it was signed, whatever the clinic decided since; a quarantine is told
    whenever it comes.

    Args:
        policy, around: as they were read already; else they are read here.
    """
    points, tray = list(points), list(tray)
    around = around or Around([session], tray)
    held = [_held(hold) for hold in holds_on(session, points, tray, around)]
    if session.signed_flags is not None:
        return [*held, *(ShownFlag.kept(row) for row in session.signed_flags)]
    return [*held, *_asked(session, points, tray, policy or current_policy(), around)]


def flags_to_keep(
    session: TreatmentSession, points: Iterable[InjectionEntry], tray: Iterable[SessionUnit]
) -> list[dict]:
    """As JSON, what is asked about a session that is being signed."""
    return [asdict(flag) for flag in _asked(session, list(points), list(tray), current_policy())]


def _asked(
    session: TreatmentSession,
    points: list[InjectionEntry],
    tray: list[SessionUnit],
    policy: ClinicPolicy,
    around: Around | None = None,
) -> list[ShownFlag]:
    around = around or Around([session], tray)
    facts = session_facts(session, points, policy, around)
    return [
        *stop_flags(around.decisions(session)),
        *_deviations(session, points, tray),
        *_past_their_time(points, tray),
        *time_out_flags(points, around.time_outs(session), policy),
        *(
            ShownFlag(
                level="note" if flag.level == FlagLevel.NOTE else "caution",
                label=flag.level.label,
                title=flag.text,
                text=flag.what_to_do,
                source=str(flag.source),
                points=flag.points,
            )
            for flag in session_flags(facts)
        ),
        *_unknown_strength(tray),
        *_confirmed_diluent(tray),
    ]


def _held(hold: Hold) -> ShownFlag:
    unit, quarantine = hold.unit, hold.quarantine
    what = f"Unit {unit.label}" if quarantine.is_by_serial else f"Lot {unit.lot.number}"
    title = f"{what} was put in quarantine {_on(quarantine.placed_at)}."
    text = f"{quarantine.reason.rstrip('.')}. {_lifted(quarantine)}"
    if hold.points:
        drawn = "1 point was" if len(hold.points) == 1 else f"{len(hold.points)} points were"
        text += f" {drawn} drawn from unit {unit.label} while it stood."
    return ShownFlag(
        level="stop",
        label="Quarantine",
        title=title,
        text=text,
        source=f"quarantine of {quarantine.span}, placed by {quarantine.placed_by}",
        points=hold.points,
    )


def _lifted(quarantine: Quarantine) -> str:
    if quarantine.lifted_at:
        return f"It was lifted {_on(quarantine.lifted_at)}: {quarantine.lift_reason.rstrip('.')}."
    return "Not to be injected."


def _on(moment: datetime) -> str:
    return f"on {timezone.localtime(moment):%d %b %Y at %H:%M}"


def _deviations(session, points, tray) -> Iterable[ShownFlag]:
    def deviation(title: str, reason: str, numbers: tuple[int, ...] = ()) -> ShownFlag:
        return ShownFlag(
            "stop", "Deviation", title, f"Reason given: {reason}", "the clinic's own rules", numbers
        )

    if session.late_reason:
        yield deviation("Written down on a later day than the treatment.", session.late_reason)
    for row in tray:
        if row.deviation:
            numbers = tuple(point.number for point in points if point.unit_id == row.unit_id)
            yield deviation(
                f"Unit {row.unit.label} of lot {row.unit.lot.number} was used although the clinic "
                "would have refused it.",
                row.deviation,
                numbers,
            )
    for point in points:
        if point.deviation:
            yield deviation(f"Point {point.number} differs.", point.deviation, (point.number,))


def _past_their_time(points: list[InjectionEntry], tray: list[SessionUnit]) -> Iterable[ShownFlag]:
    """Units that were drawn from after their hours had passed."""
    for row in tray:
        use_before = row.unit.opening.use_before
        if use_before is None:
            continue
        late = tuple(
            point.number
            for point in points
            if point.unit_id == row.unit_id and point.tapped_at > use_before
        )
        if late:
            yield ShownFlag(
                "stop",
                "Past its time",
                f"Unit {row.unit.label} was to be used before "
                f"{timezone.localtime(use_before):%d %b %Y %H:%M} and was drawn from later.",
                "Open another one. What the product's instructions say of its time comes first.",
                "hours usable after opening, as noted with the product",
                late,
            )


def _unknown_strength(tray: Iterable[SessionUnit]) -> Iterable[ShownFlag]:
    for row in tray:
        unit = row.unit
        if unit.lot.product.kind == ProductKind.TOXIN and not unit.opening.diluent_ul:
            yield ShownFlag(
                "note",
                "Please check",
                f"No diluent is recorded for unit {unit.label}, {unit.lot.product}.",
                "Unless it comes ready to use, write in the note what it was made up with: the "
                "units in 0.1 mL depend on it.",
                "arithmetic, units in the vial divided by the diluent",
            )


def _confirmed_diluent(tray: Iterable[SessionUnit]) -> Iterable[ShownFlag]:
    for row in tray:
        opening = row.unit.opening
        if opening.confirmed_odd:
            yield ShownFlag(
                "note",
                FlagLevel.NOTE.label,
                f"Unit {row.unit.label}: {opening.confirmed_odd} Confirmed by {opening.opened_by}.",
                "The units in 0.1 mL depend on it: look at the strength before drawing up.",
                str(PLAUSIBLE_ENTRY),
            )
