"""
What the front desk should know before it books: advice with its source, which never decides.

Nothing clinical is said here: whoever books is told to ask the injector.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from planning.ages import age_years
from planning.review_dates import day_in_words

ON_RECORD = "The patient's record"
TREATS = ("treatment", "top_up")
"""The kinds of visit whose advice asks for earlier treatments and consultations."""


@dataclass(frozen=True, slots=True)
class Advice:
    """A remark beside the booking form. `level` is note, caution or stop, as pages show flags."""

    level: str
    title: str
    text: str
    source: str


ASK_INJECTOR = Advice(
    "caution",
    "Ask the injector before you book",
    "Something the injector has to decide on is open for this patient.",
    ON_RECORD,
)


@dataclass(frozen=True, slots=True)
class BookingPolicy:
    """
    The clinic's own limits on booking, in years and days; None is not checked.

    Attributes:
        top_up_wait_days: from a treatment to its top-up.
        toxin_interval_days: between two toxin treatments.
        cooling_off_days: from the consultation to the first treatment.
    """

    minimum_age_years: int
    top_up_wait_days: int | None
    toxin_interval_days: int
    cooling_off_days: int | None


@dataclass(frozen=True, slots=True)
class OpenReview:
    """A review that is not closed, with the days between which it is wanted."""

    is_top_up: bool
    earliest_on: date
    due_on: date
    latest_on: date


@dataclass(frozen=True, slots=True)
class ConsentOnRecord:
    """A consent to a treatment that is in force, from the talk to the last day it holds."""

    discussed_on: date
    valid_until: date


@dataclass(frozen=True, slots=True)
class PatientFacts:
    """
    What is on record of the patient that booking asks about.

    Attributes:
        treated_on, toxin_on: the last signed session, and the last one with toxin.
        consulted_on: the first consultation that took place. These three are asked for by the
            kinds in TREATS alone, and so are the consents.
        consents: those to treatments that are in force; None where they are not asked for.
        has_open_event: an adverse event is not closed.
        account_notes: what the desk noted about the account, such as an outstanding balance.
    """

    birth_date: date
    treated_on: date | None = None
    toxin_on: date | None = None
    consulted_on: date | None = None
    consents: Sequence[ConsentOnRecord] | None = None
    reviews: Sequence[OpenReview] = ()
    has_open_event: bool = False
    account_notes: Sequence[str] = ()


def booking_advice(
    kind: str, day: date, patient: PatientFacts, policy: BookingPolicy
) -> list[Advice]:
    """
    What to know before booking a visit of `kind` on `day`, the most pressing first.

    Args:
        kind: a key of the clinic's kinds of visit ("treatment", "top_up", "review", ...).
    """
    found = [*_age(day, patient, policy)]
    if patient.has_open_event and kind != "complication_check":
        found.append(ASK_INJECTOR)
    if kind == "top_up":
        found += _top_up(day, patient, policy)
    if kind == "review":
        found += _early_review(day, patient)
    if kind == "treatment":
        found += _cooling_off(day, patient, policy)
        found += _interval(day, patient, policy)
    if kind in TREATS:
        found += _consent(day, patient)
    if kind in TREATS or kind == "consultation":
        found += _overdue(day, patient)
    found += [Advice("note", note, "", "The desk's note on the account") for note in
              patient.account_notes]  # fmt: skip
    return sorted(found, key=lambda advice: ("stop", "caution", "note").index(advice.level))


def _age(day: date, patient: PatientFacts, policy: BookingPolicy) -> Iterator[Advice]:
    minimum = policy.minimum_age_years
    if patient.birth_date > day or (age := age_years(patient.birth_date, day)) >= minimum:
        return
    yield Advice(
        "caution",
        f"The patient is {age} on that day; the clinic treats from {minimum}",
        "Ask the practitioner before you book. Local law may set a higher age.",
        f"Clinic policy: minimum age {minimum} years",
    )


def _top_up(day: date, patient: PatientFacts, policy: BookingPolicy) -> Iterator[Advice]:
    asked = [review for review in patient.reviews if review.is_top_up]
    if asked:
        earliest = min(review.earliest_on for review in asked)
        if day < earliest:
            yield Advice(
                "caution",
                f"Too early for the top-up: not before {day_in_words(earliest)}",
                "An early top-up adds to a result that is not settled. Ask the injector.",
                "The date of the top-up on the patient's record",
            )
        return
    wait, treated = policy.top_up_wait_days, patient.treated_on
    if treated is None:
        yield Advice(
            "caution",
            "No treatment on record that could be topped up",
            "Choose another kind of visit, or ask the injector.",
            ON_RECORD,
        )
    elif wait is not None and day < (earliest := treated + timedelta(days=wait)):
        yield Advice(
            "caution",
            f"Too early for a top-up: not before {day_in_words(earliest)}",
            f"The last treatment was on {day_in_words(treated)}. Ask the injector.",
            f"Clinic policy: top-up after {_days(wait)}",
        )


def _early_review(day: date, patient: PatientFacts) -> Iterator[Advice]:
    earliest = min((review.earliest_on for review in patient.reviews), default=day)
    if day < earliest:
        yield Advice(
            "caution",
            f"Too early for the review: wanted from {day_in_words(earliest)}",
            "Look from that day on, or ask the injector.",
            "The dates of the review on the patient's record",
        )


def _cooling_off(day: date, patient: PatientFacts, policy: BookingPolicy) -> Iterator[Advice]:
    wait = policy.cooling_off_days
    if wait is None or patient.treated_on is not None:
        return
    source = f"Clinic policy: cooling-off of {_days(wait)}; local law may ask for more"
    # What was agreed to was talked about on its own day, which counts from then on.
    talks = [consent.discussed_on for consent in patient.consents or ()]
    consulted = min(talks, default=patient.consulted_on)
    if consulted is None:
        yield Advice(
            "caution",
            "No consultation on record before this first treatment",
            f"The clinic leaves {_days(wait)} between the consultation and the treatment. "
            "Book the consultation first, or ask the injector.",
            source,
        )
    elif day < (earliest := consulted + timedelta(days=wait)):
        yield Advice(
            "caution",
            f"Within the cooling-off time: not before {day_in_words(earliest)}",
            f"The consultation was on {day_in_words(consulted)}. Consent given on the "
            "day of the treatment alone may not stand.",
            source,
        )


def _consent(day: date, patient: PatientFacts) -> Iterator[Advice]:
    """Whether a consent holds on that day; which of them is asked for, the practitioner knows."""
    if patient.consents is None or any(day <= each.valid_until for each in patient.consents):
        return
    if not patient.consents:
        yield Advice(
            "note",
            "No consent in force",
            "It is taken before the treatment: leave time for it, or ask the injector.",
            ON_RECORD,
        )
        return
    last = max(each.valid_until for each in patient.consents)
    yield Advice(
        "caution",
        f"The consent runs out before that day: it holds until {day_in_words(last)}",
        "It has to be taken anew before the treatment: leave time for it.",
        ON_RECORD,
    )


def _interval(day: date, patient: PatientFacts, policy: BookingPolicy) -> Iterator[Advice]:
    last = patient.toxin_on
    if last is None or last > day:
        return
    earliest = last + timedelta(days=policy.toxin_interval_days)
    if day < earliest:
        yield Advice(
            "note",
            f"If it is for the same as on {day_in_words(last)}: not before "
            f"{day_in_words(earliest)}",
            "Ask the injector what is planned.",
            f"Clinic policy: {_days(policy.toxin_interval_days)} between two such treatments",
        )


def _overdue(day: date, patient: PatientFacts) -> Iterator[Advice]:
    overdue = [review for review in patient.reviews if review.latest_on < day]
    if overdue:
        latest = min(review.latest_on for review in overdue)
        yield Advice(
            "caution",
            f"A review is still open then: wanted by {day_in_words(latest)}",
            "Book the review first, or ask the injector whether this visit takes its place.",
            "The dates of the review on the patient's record",
        )


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"
