"""The demo's front desk: patients, reviews in every state, today's list."""

from datetime import date, datetime, timedelta

from clinic.audit.services import acting
from clinic.policy.queries import current_policy, open_days
from clinic.staff.models import User
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.queries import visit_kind
from planning.review_dates import next_open_day
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.queries.slots import Wanted, nearest
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.demo.clinic import at, fixture
from records.demo.outcomes import write_up
from records.demo.story import Story
from records.patients.enums import Channel
from records.patients.models import Patient
from records.patients.services import add_alert, save_patient
from records.reviews.models import Review
from records.reviews.services.acts import excuse, link_appointment, mark_done
from records.reviews.services.moving import move_review

ALERTS = [
    ("allergy", "stop", "Penicillin: rash and wheeze"),
    ("allergy", "caution", "Bee venom"),
    ("allergy", "note", "Plasters"),
    ("medical", "caution", "Takes an anticoagulant"),
    ("medical", "caution", "Herpes simplex at the lip, several times a year"),
    ("medical", "note", "Needle-anxious: lie down"),
]


TODAYS_PATIENTS = 20
# The last of them, who were never treated here.
NEWCOMERS = 4
TODAYS_KINDS = [
    AppointmentKind.TOP_UP, AppointmentKind.CONSULTATION, AppointmentKind.REVIEW,
    AppointmentKind.TREATMENT, AppointmentKind.TREATMENT,
]  # fmt: skip


def register(story: Story, number: int) -> None:
    """One of the sixty people; telephone numbers from the range kept for fiction."""
    full_name, sex, birth_year = fixture("patients")[number]
    desk, rng = story.clinic.staff["desk"], story.rng
    patient = save_patient(
        patient=Patient(
            full_name=full_name,
            birth_date=date(birth_year, rng.randint(1, 12), rng.randint(1, 28)),
            sex=sex,
            phone=f"07700 900{number + 100:03d}",
            email=f"patient{number + 1}@mail.example",
            address=f"{number + 1} Sample Street\nLarkstone",
            preferred_channel=rng.choice(list(Channel)),
            agrees_to_email=number % 4 != 2,
            agrees_to_sms=number % 5 != 3,
            weight_g=rng.randrange(48_000, 96_000, 500) if number % 4 else None,
        ),
        actor=desk,
    )
    if number % 5 == 0:
        kind, level, text = ALERTS[number // 5 % len(ALERTS)]
        add_alert(patient=patient, kind=kind, level=level, text=text, actor=desk)
    story.patients.append(patient)


def follow_up(story: Story, review: Review) -> None:
    """Close most past reviews, often in writing, excuse a few, leave some due and booked."""
    number = next(story.reviews)
    if review.due_on >= story.today - timedelta(days=25):
        if number % 3 == 0:
            _book_review(story, review)
        elif number % 6 == 1:
            _move_review(story, review)
    elif number % 12 == 6:
        reason = "The patient moved away and is seen elsewhere"
        excuse(review=review, reason=reason, actor=story.clinic.staff["desk"])
    elif number % 5 and number % 12:
        write_up(review, number)
    elif number % 12:
        mark_done(review=review, actor=review.session.injector)


def _book_review(story: Story, review: Review) -> None:
    day = max(review.due_on, story.today + timedelta(days=1))
    desk = story.clinic.staff["desk"]
    near = at(day, 9) + timedelta(minutes=20 * (next(story.bookings) % 24))
    appointment = _fitting(
        review.patient, review.session.injector, AppointmentKind.REVIEW, day, near, within_days=14
    )
    if appointment is None:
        return
    book(appointment=appointment, actor=desk)
    with acting(desk) as trail:
        link_appointment(review=review, appointment=appointment, trail=trail)


def _fitting(
    patient: Patient,
    practitioner: User,
    kind: AppointmentKind,
    day: date,
    near: datetime,
    *,
    within_days: int = 0,
) -> Appointment | None:
    """A visit at the time nearest to `near` that fits from `day` on, with its room; not booked."""
    usual = visit_kind(kind)
    wanted = Wanted(
        usual, day, day + timedelta(days=within_days), patient=patient, only=practitioner
    )
    for fit in nearest(wanted, near, limit=1):
        return Appointment(
            patient=patient,
            practitioner=practitioner,
            kind=kind,
            room=fit.room,
            starts_at=fit.starts_at,
            minutes=usual.minutes,
            preparation_minutes=usual.preparation_minutes,
            buffer_minutes=usual.buffer_minutes,
        )
    return None


def _move_review(story: Story, review: Review) -> None:
    after = max(review.due_on, story.today) + timedelta(days=3)
    day = next_open_day(after, open_days(current_policy(), on_or_after=story.today).is_open)
    reason = "The patient is away that week"
    move_review(review=review, due_on=day, reason=reason, actor=story.clinic.staff["desk"])


def todays_list(story: Story) -> None:
    """A full day of both injectors: some have arrived, the rest are expected."""
    desk, nine = story.clinic.staff["desk"], at(story.today, 9)
    is_open = open_days(current_policy(), on_or_after=story.today).is_open(story.today)
    for number, patient in enumerate(story.patients[-TODAYS_PATIENTS:]):
        injector, kind = story.clinic.injectors[number % 2], TODAYS_KINDS[number // 2 % 5]
        if is_open:
            appointment = _fitting(patient, injector, kind, story.today, nine)
        else:
            # A demo that is started on a Sunday shows a day all the same.
            starts_at = nine + timedelta(minutes=30 * (number // 2))
            appointment = Appointment(
                patient=patient, practitioner=injector, kind=kind, starts_at=starts_at, minutes=30
            )
        if appointment is None:
            continue
        book(appointment=appointment, actor=desk)
        if number in (1, 2, 3):
            set_state(appointment=appointment, state=AppointmentState.ARRIVED, actor=desk)
