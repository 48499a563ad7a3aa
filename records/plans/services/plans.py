"""Starting and ending a plan, its stages, and the session that takes a stage up."""

from datetime import datetime, timedelta

from django.utils import timezone

from clinic.audit.services import Trail, acting, changes, snapshot
from clinic.policy.queries import current_policy
from records.appointments.models import start_of
from records.patients.models import Patient
from records.plans.enums import PlanEnd
from records.plans.errors import PlanClosed, PlanError, StageTreated
from records.plans.models import MOST_STAGES, Plan, PlanLine, PlanStage
from records.plans.queries.plans import with_lines
from records.plans.queries.units import units_for

PLAN_FIELDS = ["title", "note", "alternatives"]
STAGE_FIELDS = ["number", "weeks_after", "session"]
END_FIELDS = ["closed_at", "closed_by", "end", "end_reason"]


def start_plan(*, patient: Patient, title: str, actor, lines: list[PlanLine] | None = None) -> Plan:
    """
    A plan with its first stage.

    Args:
        lines: not saved yet and of no stage; they go into the first stage.

    Raises:
        PlanError: the patient has an open plan.
    """
    with acting(actor) as trail:
        Patient.objects.select_for_update().get(pk=patient.pk)
        if current := patient.plans.still_open().first():
            raise PlanError(f"The plan “{current}” is still open. End it first, or add to it.")
        plan = Plan.objects.create(
            patient=patient, title=title, made_at=timezone.now(), made_by=actor
        )
        trail.add("plan.started", plan, patient_id=patient.pk, after=snapshot(plan, PLAN_FIELDS))
        stage = add_stage(plan=plan, actor=actor)
        for line in lines or []:
            line.stage = stage
            line.save()
        if lines:
            after = {"lines": [str(line) for line in lines]}
            trail.add("plan.lines_added", plan, patient_id=patient.pk, after=after)
            follow_lines(stage=stage, trail=trail)
    return plan


def change_plan(*, plan: Plan, actor) -> Plan:
    """Save title, note and alternatives."""
    with acting(actor) as trail:
        stored = lock_open(plan.pk)
        before = snapshot(stored, PLAN_FIELDS)
        plan.save(update_fields=PLAN_FIELDS)
        before, after = changes(before, snapshot(plan, PLAN_FIELDS))
        if after:
            trail.add("plan.changed", plan, patient_id=plan.patient_id, before=before, after=after)
    return plan


def end_plan(*, plan: Plan, end: PlanEnd, reason: str, actor) -> None:
    """
    Close the plan; its lines stay to be read.

    Raises:
        PlanError: given up without a reason.
    """
    if end is PlanEnd.GIVEN_UP and not reason.strip():
        raise PlanError("Say why the plan is given up.")
    with acting(actor) as trail:
        stored = lock_open(plan.pk)
        stored.closed_at, stored.closed_by = timezone.now(), actor
        stored.end, stored.end_reason = end, reason.strip()
        stored.save(update_fields=END_FIELDS)
        after = snapshot(stored, ["end"])
        trail.add(
            "plan.ended", stored, patient_id=stored.patient_id, after=after, reason=reason.strip()
        )


def add_stage(*, plan: Plan, weeks_after: int = 0, actor) -> PlanStage:
    """
    A further session of the plan.

    Raises:
        PlanError: it has as many as a plan may have.
    """
    with acting(actor) as trail:
        lock_open(plan.pk)
        last = plan.stages.order_by("-number").first()
        number = last.number + 1 if last else 1
        if number > MOST_STAGES:
            raise PlanError(f"A plan has at most {MOST_STAGES} stages.")
        stage = PlanStage.objects.create(plan=plan, number=number, weeks_after=weeks_after)
        trail.add(
            "plan.stage_added", stage, patient_id=plan.patient_id,
            after=snapshot(stage, STAGE_FIELDS),
        )  # fmt: skip
    return stage


def change_stage(*, stage: PlanStage, actor) -> PlanStage:
    """
    Save how long after the stage before it takes place.

    Raises:
        StageTreated: it belongs to a signed session.
    """
    with acting(actor) as trail:
        stored = lock_stage(stage)
        before = snapshot(stored, ["weeks_after"])
        stage.save(update_fields=["weeks_after"])
        before, after = changes(before, snapshot(stage, ["weeks_after"]))
        if after:
            patient_id = stored.plan.patient_id
            trail.add(
                "plan.stage_changed", stage, patient_id=patient_id, before=before, after=after
            )
    return stage


def remove_stage(*, stage: PlanStage, actor) -> None:
    """
    Take the last stage of a plan away, with its lines.

    Raises:
        PlanError: it is not the last one, or the only one.
        StageTreated: a session took it up.
    """
    with acting(actor) as trail:
        plan = lock_open(stage.plan_id)
        stored = PlanStage.objects.select_for_update().get(pk=stage.pk)
        if stored.session_id is not None:
            raise StageTreated("A session took this stage up, so it stays.")
        if stored.number == 1 or plan.stages.filter(number__gt=stored.number).exists():
            raise PlanError("Only the last of several stages can be taken away.")
        before = snapshot(stored, STAGE_FIELDS) | {
            "lines": [str(line) for line in stored.lines.all()]
        }
        trail.add("plan.stage_removed", stored, patient_id=plan.patient_id, before=before)
        stored.lines.all().delete()
        stored.delete()


def lock_open(pk: int) -> Plan:
    """
    The plan, its row locked until the transaction ends.

    Raises:
        PlanClosed: it ended.
    """
    plan = Plan.objects.select_for_update(of=("self",)).get(pk=pk)
    if not plan.is_open:
        raise PlanClosed(f"This plan ended: {plan.get_end_display().lower()}. Start a new one.")
    return plan


def lock_stage(stage: PlanStage) -> PlanStage:
    """
    The stage as it is stored, behind the locks of its plan, where every writer of a plan meets, and
    of the session that took it up, where its signature does.

    Raises:
        PlanClosed: the plan ended.
        StageTreated: the session is signed.
        PlanError: somebody took the stage out.
    """
    plan = lock_open(stage.plan_id)
    stored = PlanStage.objects.select_related("plan").filter(pk=stage.pk).first()
    if stored is None:
        raise PlanError("This stage was taken out just now. Look at the plan again.")
    if stored.session_id is not None:
        sessions = plan.patient.sessions.select_for_update(of=("self",))
        if sessions.get(pk=stored.session_id).is_signed:
            raise StageTreated(
                "The session of this stage is signed, so what was planned for it stays."
            )
    return stored


def take_up_stage(
    *, patient_id: int, session_id: int, started_at: datetime, trail: Trail
) -> PlanStage | None:
    """
    The next stage of the patient's open plan becomes this session's, as a part of the caller's act.
    None where nothing is planned. A plan may well be written after the treatment began; a plan of a
    later day was not made for it.
    """
    day_after = timezone.localdate(started_at) + timedelta(days=1)
    stage = (
        PlanStage.objects.select_for_update()
        .filter(plan__patient=patient_id, plan__closed_at__isnull=True, session__isnull=True)
        .filter(plan__made_at__lt=start_of(day_after))
        .exclude(lines__isnull=True)
        .exclude(given_back_by=session_id)
        .order_by("number")
        .first()
    )
    if stage is not None:
        stage.session_id = session_id
        stage.save(update_fields=["session"])
        stage.units_planned = _units_planned(stage)
        stage.save(update_fields=["units_planned"])
        after = {"session": session_id, "units_planned": stage.units_planned}
        trail.add("plan.stage_taken_up", stage, patient_id=patient_id, after=after)
    return stage


def _units_planned(stage: PlanStage) -> dict[str, int]:
    """
    By product, what the shelf would have opened for this stage before its session opened anything.
    """
    plan = with_lines(Plan.objects.filter(pk=stage.plan_id)).get()
    rows = units_for(plan, current_policy(), before_session=stage.session_id)
    found = next((row for row in rows if row.stage == stage), None)
    counts: dict[str, int] = {}
    for row in found.to_open if found else ():
        key = str(row.product.pk)
        counts[key] = counts.get(key, 0) + row.units
    return counts


def follow_lines(*, stage: PlanStage, trail: Trail) -> None:
    """
    After the lines of a stage changed, as a part of the caller's act and behind `lock_stage`: what
    was to be opened for its session is counted anew; without one, today's session of the patient
    takes the plan up if it has none yet. By name: sessions belong to a higher capability.
    """
    if stage.session_id is not None:
        _count_anew(stage, trail)
        return
    patient = stage.plan.patient
    # Behind the lock that its signature takes: nothing joins a signed session.
    today = patient.sessions.select_for_update(of=("self",)).filter(
        signed_at__isnull=True, set_aside_at__isnull=True, plan_stage__isnull=True,
        started_at__gte=start_of(timezone.localdate()),
    )  # fmt: skip
    if session := today.first():
        take_up_stage(
            patient_id=patient.pk, session_id=session.pk, started_at=session.started_at,
            trail=trail,
        )  # fmt: skip


def _count_anew(stage: PlanStage, trail: Trail) -> None:
    before, stage.units_planned = stage.units_planned, _units_planned(stage)
    if stage.units_planned != before:
        stage.save(update_fields=["units_planned"])
        trail.add(
            "plan.units_counted", stage, patient_id=stage.plan.patient_id,
            before={"units_planned": before}, after={"units_planned": stage.units_planned},
        )  # fmt: skip


def give_back_stage(*, stage: PlanStage, actor) -> None:
    """
    The session under way is about something else: the stage waits for the next one.

    Raises:
        StageTreated: the session is signed.
        PlanError: no session has it.
    """
    with acting(actor) as trail:
        stored = lock_stage(stage)
        if stored.session_id is None:
            raise PlanError("No session has this stage, so there is nothing to give back.")
        before = {"session": stored.session_id}
        stored.given_back_by_id, stored.session_id = stored.session_id, None
        stored.units_planned = {}
        stored.save(update_fields=["given_back_by", "session", "units_planned"])
        trail.add("plan.stage_released", stored, patient_id=stored.plan.patient_id, before=before)


def release_stage(*, session_id: int, patient_id: int, trail: Trail) -> None:
    """Give the stage back that a session took up which was started by mistake."""
    for stage in PlanStage.objects.select_for_update().filter(session=session_id):
        stage.session_id, stage.units_planned = None, {}
        stage.save(update_fields=["session", "units_planned"])
        trail.add(
            "plan.stage_released", stage, patient_id=patient_id, before={"session": session_id}
        )
