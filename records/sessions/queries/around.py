"""What the record knows around sessions, read for several of them at once."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from datetime import date, datetime
from functools import cached_property
from typing import NamedTuple

from django.db.models import Q, Sum
from django.utils import timezone

from clinic.atlas.queries import region_ranges
from clinic.products.models import line_key
from clinic.quarantine.models import Quarantine
from planning.care import CareElsewhere
from planning.reference_ranges import RegionRange
from records.elsewhere.models import ReportedCare
from records.elsewhere.queries import care_known_at, reports_by_patient
from records.gates.models import GateDecision
from records.gates.queries import decisions_of_sessions
from records.plans.models import PlanStage
from records.plans.queries.plans import stages_of_sessions
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.time_out.queries import TimeOut, time_outs_of_sessions


class Given(NamedTuple):
    """
    What of one product was given in one region in one session; `amount` in the product's base unit.
    """

    patient: int
    session: int
    started_at: datetime
    signed_at: datetime | None
    product: int
    name: str
    maker: str
    kind: str
    line: str
    region: str
    amount: int

    def when(self) -> datetime:
        return self.started_at

    @property
    def line_key(self) -> Hashable:
        return line_key(self.product, self.maker, self.kind, self.line)

    @property
    def day(self) -> date:
        return timezone.localdate(self.started_at)


class Around:
    """
    What is known of the sessions' patients, plans and products, whichever session asks for it.

    Each kind of thing is one query for all of them, made when the first one asks: a session whose
    flags were kept at its signature asks for little.
    """

    def __init__(
        self, sessions: Iterable[TreatmentSession], tray: Iterable[SessionUnit] = ()
    ) -> None:
        """`tray`: what lies on the trays of all of them, with lots."""
        self._sessions = list(sessions)
        self._products = {row.unit.lot.product_id for row in tray}

    @cached_property
    def ranges(self) -> Mapping[str, RegionRange]:
        """The usual filler of each region."""
        return region_ranges()

    def earlier(self, session: TreatmentSession) -> list[Given]:
        """In earlier sessions of the patient, by product and region."""
        given = self._given.get(session.patient_id, ())
        return [one for one in given if one.started_at < session.started_at]

    def last_signed(self, session: TreatmentSession) -> int | None:
        """The signed session before it in which something was given to the patient."""
        before = [
            (one.started_at, one.session)
            for one in self._given.get(session.patient_id, ())
            if one.signed_at and one.session != session.pk and one.started_at <= session.started_at
        ]
        return max(before)[1] if before else None

    def care(self, session: TreatmentSession) -> tuple[CareElsewhere, ...]:
        """What the record holds of care elsewhere, or held when the session was signed."""
        return care_known_at(self._reports.get(session.patient_id, ()), session.signed_at)

    def stage(self, session: TreatmentSession) -> PlanStage | None:
        """The stage of a plan that the session took up, with its lines and products."""
        return self.stages.get(session.pk)

    def quarantines(self, session: TreatmentSession) -> list[Quarantine]:
        """Those of products on the trays that stood while the session was under way."""
        return [
            one
            for one in self._quarantines
            if (session.signed_at is None or one.placed_at <= session.signed_at)
            and (one.lifted_at is None or one.lifted_at > session.started_at)
        ]

    def decisions(self, session: TreatmentSession) -> list[GateDecision]:
        """Stops that stood when the session was started, and what was decided about them."""
        return self._decisions.get(session.pk, [])

    def time_outs(self, session: TreatmentSession) -> list[TimeOut]:
        """The first one first."""
        return self._time_outs.get(session.pk, [])

    @cached_property
    def _decisions(self) -> dict[int, list[GateDecision]]:
        return decisions_of_sessions(row.pk for row in self._sessions if row.pk)

    @cached_property
    def _time_outs(self) -> dict[int, list[TimeOut]]:
        return time_outs_of_sessions(row.pk for row in self._sessions if row.pk)

    @cached_property
    def stages(self) -> dict[int, PlanStage]:
        """By session."""
        return stages_of_sessions(row.pk for row in self._sessions if row.pk)

    @cached_property
    def _given(self) -> dict[int, list[Given]]:
        """By patient, in what started no later than the last of the sessions."""
        given = InjectionEntry.objects.standing().filter(
            session__patient__in={row.patient_id for row in self._sessions},
            session__started_at__lte=max(row.started_at for row in self._sessions),
        )
        product = "unit__lot__product"
        columns = (
            "session__patient", "session", "session__started_at", "session__signed_at",
            product, f"{product}__name", f"{product}__maker", f"{product}__kind",
            f"{product}__line", "region",
        )  # fmt: skip
        found: dict[int, list[Given]] = defaultdict(list)
        for row in given.order_by(product).values_list(*columns).annotate(Sum("amount")):
            found[row[0]].append(Given(*row))
        return found

    @cached_property
    def _reports(self) -> dict[int, list[ReportedCare]]:
        return reports_by_patient(row.patient_id for row in self._sessions)

    @cached_property
    def _quarantines(self) -> list[Quarantine]:
        if not self._products:
            return []
        first = min(row.started_at for row in self._sessions)
        return list(
            Quarantine.objects.filter(product__in=self._products, placed_at__lte=timezone.now())
            .filter(Q(lifted_at__isnull=True) | Q(lifted_at__gt=first))
            .select_related("placed_by")
            .order_by("id")
        )
