"""The demo's past: two hundred treatment sessions, written by the same services as real ones."""

import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial

from clinic.staff.models import User
from clinic.stock.models import UnitOfStock
from clinic.visit_kinds.enums import AppointmentKind
from planning.atlas.locate import mirror
from planning.vocabulary import Diluent, Jaw, Measure, ProductKind, View
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.demo.clinic import DemoClinic, at, fixture
from records.demo.consents import TALKED_DAYS_BEFORE, agree, decided
from records.demo.desk import NEWCOMERS, follow_up
from records.demo.incidents import note_incidents
from records.demo.occlusions import note_occlusion
from records.demo.pauses import pause
from records.demo.photographs import photograph
from records.demo.plans import plan_ahead
from records.demo.story import Story
from records.patients.models import Patient
from records.reviews.models import Review
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.placing import PointDetails
from records.sessions.services.points import log_point
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.sittings import start_session
from records.sessions.services.tray import put_on_tray

# What is done together, and how often it is asked for.
PLANS = [
    (["cheeks", "cheek_fan"], 5),
    (["cheeks", "chin", "jaw_angle"], 3),
    (["tear_trough", "cheek_fan"], 6),
    (["lips"], 5),
    (["temples", "cheeks"], 2),
    (["frown", "forehead"], 6),
    (["frown", "crows_feet"], 3),
    (["fine_lines", "mouth_corner"], 2),
    (["mouth_corner"], 3),
]
JITTER_DMM = 12
# Every second one of the last treatments is planned before.
PLANNED = 60


@dataclass(frozen=True)
class Slot:
    """One treatment to be written: who treats whom, when, and what comes of it."""

    patient: Patient
    injector: User
    starts_at: datetime
    is_signed: bool = True
    has_plan: bool = False
    has_addendum: bool = False


def plan_treatments(story: Story, count: int) -> None:
    """Note `count` treatments, each from its booking on; the last is still to be signed."""
    amended = set(story.rng.sample(range(count - 1), 6))
    for number, slot in enumerate(_slots(story, count - 1)):
        has_plan = number >= count - PLANNED and number % 2 == 0
        _note(story, replace(slot, has_addendum=number in amended, has_plan=has_plan))
    yesterday = at(story.today - timedelta(days=1), 18)
    injector = story.clinic.staff["injector"]
    last = Slot(story.patients[0], injector, yesterday, is_signed=False, has_plan=True)
    _note(story, last)


def _note(story: Story, slot: Slot) -> None:
    story.diary.note(slot.starts_at - timedelta(days=7), partial(_book, story, slot))


def _slots(story: Story, count: int) -> Iterator[Slot]:
    """`count` treatments over the last 480 days, oldest first, Monday to Saturday."""
    rng, patients = story.rng, story.patients[:-NEWCOMERS]
    days = sorted(story.today - timedelta(days=_days_ago(rng)) for _ in range(count))
    taken: set[tuple[int, datetime]] = set()
    seen: set[tuple[int, date]] = set()
    for number, day in enumerate(days):
        while day.isoweekday() == 7:
            day -= timedelta(days=1)
        patient = patients[number % len(patients)] if number % 3 else rng.choice(patients[:25])
        while (patient.pk, day) in seen:
            patient = rng.choice(patients)
        seen.add((patient.pk, day))
        injector = story.clinic.injectors[number % 5 == 0]
        starts_at = at(day, _after_lunch(rng.randint(9, 16)), rng.choice([0, 30]))
        while (injector.pk, starts_at) in taken:
            starts_at += timedelta(minutes=30)
            starts_at = at(day, _after_lunch(starts_at.hour), starts_at.minute)
        taken.add((injector.pk, starts_at))
        yield Slot(patient, injector, starts_at)


def _after_lunch(hour: int) -> int:
    """The clinic works from 9 to 18 o'clock, with a break of an hour from 13 o'clock on."""
    return 14 if hour == 13 else hour


def _days_ago(rng: random.Random) -> int:
    """2 to 480, the recent ones more often: the clinic grows."""
    return int(2 + 478 * rng.random() ** 1.7)


def _book(story: Story, slot: Slot) -> None:
    appointment = book(
        appointment=Appointment(
            patient=slot.patient,
            practitioner=slot.injector,
            kind=AppointmentKind.TREATMENT,
            starts_at=slot.starts_at,
            minutes=30,
        ),
        actor=story.clinic.staff["desk"],
    )
    story.diary.note(slot.starts_at, partial(_treat, story, slot, appointment))


def _treat(story: Story, slot: Slot, appointment: Appointment) -> None:
    """The patient comes and is treated as one of the plans says."""
    rng, treatments = story.rng, fixture("treatments")
    plan = rng.choices([names for names, _ in PLANS], [weight for _, weight in PLANS])[0]
    desk = story.clinic.staff["desk"]
    set_state(appointment=appointment, state=AppointmentState.ARRIVED, actor=desk)
    if slot.has_plan:
        plan_ahead(story, slot.patient, slot.injector, plan)
    products = [story.clinic.products[treatments[name]["product"]] for name in plan]
    kinds = {ProductKind(product.kind) for product in products}
    talked_at = slot.starts_at - timedelta(days=TALKED_DAYS_BEFORE)
    agree(slot.patient, kinds, slot.injector, talked_at)
    session = start_session(
        patient=slot.patient,
        injector=slot.injector,
        appointment=appointment,
        jaw=rng.choice(list(Jaw)),
        decisions=decided(slot.patient),
    )
    pause(session)
    photograph(story, session, plan)
    for name in plan:
        _inject(story.clinic, session, treatments[name], rng)
    note_occlusion(story, session)
    if slot.is_signed:
        signing = slot.starts_at + timedelta(minutes=25)
        story.diary.note(signing, partial(_sign, story, session))
    if slot.has_addendum:
        next_day = slot.starts_at + timedelta(days=1)
        story.diary.note(next_day, partial(_add_addendum, session))


def _inject(clinic: DemoClinic, session: TreatmentSession, treatment: dict, rng) -> None:
    places = _places(treatment, rng)
    unit = None
    for number, (view, x_dmm, y_dmm) in enumerate(places):
        if unit is None or unit.remaining < treatment["amount"]:
            unit = _unit_with(clinic, session, treatment)
        if unit is None:
            return
        details = PointDetails(
            unit_id=unit.pk,
            view=view,
            x_dmm=x_dmm,
            y_dmm=y_dmm,
            aspiration="negative" if treatment["technique"] == "bolus" else "not_done",
            **{
                name: treatment[name]
                for name in ("plane", "technique", "instrument", "gauge", "length_mm", "amount")
            },
        )
        log_point(
            session=session,
            key=uuid.UUID(int=rng.getrandbits(128), version=4),
            details=details,
            tapped_at=session.started_at + timedelta(minutes=5, seconds=20 * number),
            actor=session.injector,
        )
        unit.drawn += treatment["amount"]


def _places(treatment: dict, rng) -> list[tuple[View, int, int]]:
    """Each place on both sides, a little off as hands are, then the midline ones."""
    places = []
    for where, x, y in treatment["places"]:
        view = View.RIGHT if where == "side" else View.FRONT
        x += rng.randint(-JITTER_DMM, JITTER_DMM)
        y += rng.randint(-JITTER_DMM, JITTER_DMM)
        places += [(view, x, y), mirror(view, x, y)]
    places += [(View.FRONT, x, y) for _, x, y in treatment.get("midline", [])]
    return places


def _unit_with(clinic: DemoClinic, session, treatment: dict) -> UnitOfStock | None:
    """A unit on the tray with enough left, else the next to expire, opened now."""
    product, amount = clinic.products[treatment["product"]], treatment["amount"]
    for row in session.tray.select_related("unit__lot"):
        if row.unit.lot.product_id == product.pk and row.unit.remaining >= amount:
            return row.unit
    day = session.started_at.date()
    usable = UnitOfStock.objects.with_lot().filter(
        lot__product=product,
        lot__expires_on__gte=day,
        lot__quarantined_at__isnull=True,
    )
    unit = usable.in_stock().first_expired_first().first()
    if unit is None:
        return None
    diluent_ul = 2500 if product.measure == Measure.DOSE else None
    put_on_tray(
        session=session, unit=unit, actor=session.injector, diluent_ul=diluent_ul,
        diluent=Diluent.SALINE if diluent_ul else "",
    )  # fmt: skip
    return unit


def _sign(story: Story, session: TreatmentSession) -> None:
    """Sign, and note what the desk does when the review falls due."""
    remainders = {}
    for row in session.tray.select_related("unit__opening"):
        shared = row.unit.opening.patient_id is None
        fate = Remainder.KEPT if story.rng.random() < 0.2 else Remainder.WASTED
        remainders[row.unit_id] = Remainder.WASTED if shared else fate
    sign_session(session=session, remainders=remainders, actor=session.injector)
    note_incidents(story, session)
    for review in Review.objects.filter(session=session):
        moment = min(at(review.due_on, 12), at(story.today, 8))
        story.diary.note(moment, partial(follow_up, story, review))


def _add_addendum(session: TreatmentSession) -> None:
    """A correction, as it comes up at a review."""
    add_addendum(
        session=session,
        reason="Left out of the note",
        text="The patient was shown the result in the mirror and was given the written "
        "advice for the first 24 hours.",
        actor=session.injector,
    )
