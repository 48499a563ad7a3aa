"""The demo's front desk: patients, reviews in every state, today's list."""

from datetime import date, timedelta

from clinic.audit.services import acting
from clinic.policy.queries import current_policy, open_days
from clinic.visit_kinds.enums import AppointmentKind
from planning.review_dates import next_open_day
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.demo.clinic import at, fixture
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
    """Close most past reviews, excuse a few, leave some due, overdue and booked."""
    number = next(story.reviews)
    if review.due_on >= story.today - timedelta(days=25):
        if number % 3 == 0:
            _book_review(story, review)
        elif number % 6 == 1:
            _move_review(story, review)
    elif number % 12 == 6:
        reason = "The patient moved away and is seen elsewhere"
        excuse(review=review, reason=reason, actor=story.clinic.staff["desk"])
    elif number % 12:
        mark_done(review=review, actor=review.session.injector)


def _book_review(story: Story, review: Review) -> None:
    day = max(review.due_on, story.today + timedelta(days=1))
    while day.isoweekday() == 7:
        day += timedelta(days=1)
    desk = story.clinic.staff["desk"]
    appointment = book(
        appointment=Appointment(
            patient=review.patient,
            practitioner=review.session.injector,
            kind=AppointmentKind.REVIEW,
            starts_at=at(day, 9) + timedelta(minutes=20 * (next(story.bookings) % 24)),
            minutes=20,
        ),
        actor=desk,
    )
    with acting(desk) as trail:
        link_appointment(review=review, appointment=appointment, trail=trail)


def _move_review(story: Story, review: Review) -> None:
    after = max(review.due_on, story.today) + timedelta(days=3)
    day = next_open_day(after, open_days(current_policy(), on_or_after=story.today).is_open)
    reason = "The patient is away that week"
    move_review(review=review, due_on=day, reason=reason, actor=story.clinic.staff["desk"])


def todays_list(story: Story) -> None:
    """A day in the clinic: some have arrived, the rest are expected."""
    kinds = [AppointmentKind.TREATMENT, AppointmentKind.CONSULTATION, AppointmentKind.TREATMENT]
    desk = story.clinic.staff["desk"]
    for number, patient in enumerate(story.patients[-14:]):
        appointment = book(
            appointment=Appointment(
                patient=patient,
                practitioner=story.clinic.injectors[number % 2],
                kind=kinds[number % 3],
                starts_at=at(story.today, 9) + timedelta(minutes=30 * number),
                minutes=30,
            ),
            actor=desk,
        )
        if number in (1, 2, 3):
            set_state(appointment=appointment, state=AppointmentState.ARRIVED, actor=desk)
