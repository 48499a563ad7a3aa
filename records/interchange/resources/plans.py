"""What is planned: CarePlan, of a plan by its stages and of the reviews after a sitting."""

from collections.abc import Iterator
from itertools import groupby

from records.interchange.parts import (
    Json,
    amount,
    joined,
    moment,
    named,
    notes,
    optional_moment,
    place_text,
    remark,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.interchange.resources.products import product_concept
from records.plans.enums import PlanEnd
from records.plans.models import Plan, PlanLine, PlanStage
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review

# R4B value set request-status.
ENDS = {PlanEnd.CARRIED_OUT: "completed", PlanEnd.GIVEN_UP: "revoked"}
# R4B value set care-plan-activity-status.
REVIEW_STATES = {ReviewOutcome.DONE: "completed", ReviewOutcome.EXCUSED: "cancelled"}


def care_plans(record: PatientRecord, refs: References) -> Iterator[Json]:
    for plan in record.plans:
        yield _plan(plan, refs)
    by_session = sorted(record.reviews, key=lambda review: (review.session_id, review.due_on))
    for session_id, reviews in groupby(by_session, key=lambda review: review.session_id):
        yield _follow_up(session_id, list(reviews), refs)


def _plan(plan: Plan, refs: References) -> Json:
    stages = list(plan.stages.all())
    return {
        "resourceType": "CarePlan",
        "id": refs.id_of("CarePlan/plan", plan.pk),
        "extension": remark("Given up because", plan.end_reason),
        "status": ENDS[PlanEnd(plan.end)] if plan.end else "active",
        "intent": "plan",
        "category": [named("care-plan", "treatment-plan", "Plan of treatment")],
        "title": plan.title,
        "subject": refs.patient,
        "period": {"start": moment(plan.made_at), "end": optional_moment(plan.closed_at)},
        "created": moment(plan.made_at),
        "author": refs.person(plan.made_by_id),
        "activity": [
            _activity(line, stage, refs) for stage in stages for line in stage.lines.all()
        ],
        "note": notes(
            ("Note", plan.note),
            ("Alternatives spoken of", joined(plan.alternatives.splitlines())),
        ),
    }


def _activity(line: PlanLine, stage: PlanStage, refs: References) -> Json:
    """Its status is that of the sitting that took its stage up: what was given is told there."""
    after = f"{stage.weeks_after} weeks after the stage before" if stage.weeks_after else ""
    how = f"{line.get_plane_display()}, {line.get_technique_display()}"
    return {
        "outcomeReference": [refs.treatment(stage.session_id)] if stage.session_id else [],
        "detail": {
            "code": named("care-plan", "injection", "Injection"),
            "status": _stage_status(stage),
            "productCodeableConcept": product_concept(line.product),
            "quantity": amount(line.amount, line.measure),
            "description": joined(
                [f"Stage {stage.number}", after, place_text(line.region, line.side), how, line.note]
            ),
        },
    }


def _stage_status(stage: PlanStage) -> str:
    if stage.session is None:
        return "not-started"
    return "completed" if stage.session.is_signed else "in-progress"


def _follow_up(session_id: int, reviews: list[Review], refs: References) -> Json:
    is_over = all(review.closed_at for review in reviews)
    return {
        "resourceType": "CarePlan",
        "id": refs.id_of("CarePlan/follow-up", session_id),
        "status": "completed" if is_over else "active",
        "intent": "plan",
        "category": [named("care-plan", "follow-up", "Follow-up of a treatment")],
        "title": "Reviews after a treatment",
        "subject": refs.patient,
        "encounter": refs.session(session_id),
        "activity": [_review(review, refs) for review in reviews],
    }


def _review(review: Review, refs: References) -> Json:
    booked = review.appointment_id and refs.to("Appointment", review.appointment_id)
    status = "scheduled" if booked else "not-started"
    if review.outcome:
        status = REVIEW_STATES[ReviewOutcome(review.outcome)]
    return {
        "outcomeReference": [booked] if booked else [],
        "detail": {
            "kind": "Appointment",
            "code": named("care-plan", review.kind, review.get_kind_display()),
            "status": status,
            "statusReason": {"text": review.excuse},
            "scheduledPeriod": {
                "start": review.earliest_on.isoformat(),
                "end": review.latest_on.isoformat(),
            },
            "description": joined([f"Due {review.due_on}", review.label, review.rule]),
        },
    }
