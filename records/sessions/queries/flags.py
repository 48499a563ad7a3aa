"""What a session's page warns of: the limits of the planning service, and written deviations."""

from collections.abc import Hashable, Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime
from itertools import groupby
from typing import NamedTuple

from django.db.models import Sum
from django.utils import timezone

from clinic.atlas.queries import region_ranges
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.products.models import line_key
from clinic.quarantine.models import Quarantine
from planning.ages import age_years
from planning.care import CareElsewhere, EarlierFiller, FillerFamily
from planning.flags import (
    FILLERS,
    FlagLevel,
    LimitSettings,
    SessionFacts,
    SessionPoint,
    ToxinGiven,
)
from planning.lidocaine import LidocaineSource
from planning.limits import session_flags
from planning.review_dates import Interval, IntervalUnit, first_day_within
from planning.sources import PLAUSIBLE_ENTRY
from planning.vocabulary import Measure, Plane, ProductKind, Side
from records.elsewhere.queries import care_known_at
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.held import Hold, holds_on
from records.sessions.queries.planned import stage_of

YEAR = Interval(12, IntervalUnit.MONTH)
THREE_MONTHS = Interval(3, IntervalUnit.MONTH)


@dataclass(frozen=True)
class ShownFlag:
    """
    A flag as page and note show it.

    Attributes:
        level: "stop", "caution" or "note", by which it is drawn.
        label: the level in words.
        points: numbers of the points it is about.
    """

    level: str
    label: str
    title: str
    text: str
    source: str
    points: tuple[int, ...] = ()

    @classmethod
    def kept(cls, row: dict) -> "ShownFlag":
        """From `flags_to_keep`."""
        return cls(**row | {"points": tuple(row["points"])})

    @property
    def points_text(self) -> str:
        """ "Point 4", "Points 1 to 5, 7": forty numbers in a row are read by nobody."""
        runs: list[list[int]] = []
        for number in sorted(self.points):
            if runs and number == runs[-1][-1] + 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        parts = [
            f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
        ]
        return f"Point{'s' if len(self.points) > 1 else ''} {', '.join(parts)}"


def session_facts(
    session: TreatmentSession, points: Iterable[InjectionEntry], policy: ClinicPolicy
) -> SessionFacts:
    """The session and what the record knows around it: a query for each kind of thing."""
    patient, today = session.patient, timezone.localdate(session.started_at)
    earlier = _given_earlier(session)
    toxins = [given for given in earlier if given.kind == ProductKind.TOXIN]
    year, three_months = (first_day_within(today, span) for span in (YEAR, THREE_MONTHS))
    return SessionFacts(
        today=today,
        points=tuple(_session_point(point) for point in points),
        age_years=age_years(patient.birth_date, today),
        weight_g=patient.weight_g,
        filler_ul_last_year=sum(
            given.amount for given in earlier if given.kind in FILLERS and given.day >= year
        ),
        earlier_fillers=_earlier_fillers(given for given in earlier if given.kind in FILLERS),
        last_toxin_date=max((given.day for given in toxins), default=None),
        last_toxin_by_region=_latest_by_region(toxins),
        toxin_last_3_months=_by_product(given for given in toxins if given.day >= three_months),
        toxin_window_from=three_months,
        care=_had_by(today, care_known_at(patient, session.signed_at)),
        other_lidocaine=_other_lidocaine(session),
        planned=_planned(session),
        settings=_limit_settings(policy),
    )


def shown_flags(
    session: TreatmentSession,
    points: Iterable[InjectionEntry],
    tray: Iterable[SessionUnit],
    policy: ClinicPolicy | None = None,
) -> list[ShownFlag]:
    """
    Quarantine and deviations first, then what the planning service asks about. Of a signed session
    what stood there when it was signed, whatever the clinic decided since; a quarantine is told
    whenever it comes.
    """
    points, tray = list(points), list(tray)
    held = [_held(hold) for hold in holds_on(session, points, tray)]
    if session.signed_flags is not None:
        return [*held, *(ShownFlag.kept(row) for row in session.signed_flags)]
    return [*held, *_asked(session, points, tray, policy or current_policy())]


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
) -> list[ShownFlag]:
    facts = session_facts(session, points, policy)
    return [
        *_deviations(session, points, tray),
        *_past_their_time(points, tray),
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


class _Given(NamedTuple):
    """
    What of one product was given in one region in one session; `amount` in the product's base unit.
    """

    product: int
    name: str
    maker: str
    kind: str
    line: str
    region: str
    started_at: datetime
    amount: int

    def when(self) -> datetime:
        return self.started_at

    @property
    def line_key(self) -> Hashable:
        return line_key(self.product, self.maker, self.kind, self.line)

    @property
    def day(self) -> date:
        return timezone.localdate(self.started_at)


def _given_earlier(session: TreatmentSession) -> list[_Given]:
    """In earlier sessions of the patient, by product and region."""
    earlier = InjectionEntry.objects.standing().filter(
        session__patient=session.patient_id, session__started_at__lt=session.started_at
    )
    product = "unit__lot__product"
    columns = (
        product, f"{product}__name", f"{product}__maker", f"{product}__kind", f"{product}__line",
        "region", "session__started_at",
    )  # fmt: skip
    rows = earlier.order_by(product).values_list(*columns).annotate(Sum("amount"))
    return [_Given(*row) for row in rows]


def _by_product(toxins: Iterable[_Given]) -> tuple[ToxinGiven, ...]:
    return tuple(
        ToxinGiven(product, name, sum(given.amount for given in rows))
        for (product, name), rows in groupby(toxins, lambda given: (given.line_key, given.name))
    )


def _had_by(day: date, care: Iterable[CareElsewhere]) -> tuple[CareElsewhere, ...]:
    """Without what can only have been later: a session may be written down days after it was."""
    return tuple(one for one in care if one.when.first is None or one.when.first <= day)


def _other_lidocaine(session: TreatmentSession) -> tuple[LidocaineSource, ...]:
    """Of the anaesthesia beside the points; a session that is not stored yet has none."""
    if session.pk is None:
        return ()
    return tuple(row.as_source for row in session.anaesthesia.all() if row.removed_at is None)


def _planned(session: TreatmentSession) -> dict[tuple[str, Side, Hashable], int]:
    """By region, side and product line, what the plan has there for this session."""
    stage = stage_of(session) if session.pk else None
    amounts: dict[tuple[str, Side, Hashable], int] = {}
    for line in stage.lines.all() if stage else ():
        key = (line.region, Side(line.side), line.product.line_key)
        amounts[key] = amounts.get(key, 0) + line.amount
    return amounts


def _latest_by_region(toxins: Iterable[_Given]) -> dict[str, date]:
    latest: dict[str, date] = {}
    for given in toxins:
        latest[given.region] = max(given.day, latest.get(given.region, given.day))
    return latest


def _earlier_fillers(fillers: Iterable[_Given]) -> tuple[EarlierFiller, ...]:
    """The latest of each product in each region."""
    latest = {(given.region, given.product): given for given in sorted(fillers, key=_Given.when)}
    return tuple(
        EarlierFiller(given.region, FillerFamily.of(ProductKind(given.kind)), given.name, given.day)
        for given in latest.values()
    )


def _session_point(point: InjectionEntry) -> SessionPoint:
    product = point.unit.lot.product
    return SessionPoint(
        product_key=product.line_key,
        product_label=product.name,
        measure=Measure(product.measure),
        region=point.region,
        region_label=point.region_label,
        side=Side(point.side),
        unit_key=point.unit_id,
        amount=point.amount,
        number=point.number,
        kind=ProductKind(product.kind),
        plane=Plane(point.plane),
        substance=product.name,
        lidocaine_ug_per_ml=product.lidocaine_ug_per_ml,
        confirmed=point.confirmed_odd,
        confirmed_by=str(point.logged_by) if point.confirmed_odd else "",
    )


def _limit_settings(policy: ClinicPolicy) -> LimitSettings:
    return LimitSettings(
        minimum_age_years=policy.minimum_age_years,
        filler_ul_per_60_kg_year=policy.filler_ul_per_60_kg_year,
        toxin_interval_days=policy.toxin_interval_days,
        toxin_ceiling_centiunits=policy.toxin_ceiling_centiunits,
        filler_session_ul=policy.filler_session_ul,
        toxin_session_centiunits=policy.toxin_session_centiunits,
        side_difference_percent=policy.side_difference_percent,
        region_ranges=region_ranges(),
        wait_days=policy.wait_days,
    )
