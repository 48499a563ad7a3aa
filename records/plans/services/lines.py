"""Writing the lines of a plan."""

from collections.abc import Sequence

from clinic.audit.services import acting, changes, snapshot
from planning.amounts import format_amount
from planning.vocabulary import Side
from records.plans.errors import PlanError
from records.plans.models import MOST_LINES, LineFields, PlanLine, PlanStage
from records.plans.services.plans import follow_lines, lock_stage

LINE_FIELDS = [
    "region", "side", "product", "plane", "technique", "instrument", "gauge", "length_mm",
    "amount", "note",
]  # fmt: skip


def line_values(line: LineFields) -> dict:
    """What a line says, without whose it is: for a copy of it."""
    return {name: getattr(line, name) for name in LINE_FIELDS}


def save_line(*, line: PlanLine, also_other_side: bool = False, actor) -> PlanLine:
    """
    Add or change a line.

    Args:
        also_other_side: a new one is written for the other side as well.

    Raises:
        StageTreated: its stage belongs to a signed session.
        PlanError: the stage is full, or somebody took the line out.
    """
    with acting(actor) as trail:
        stage = lock_stage(line.stage)
        before = _in_words(_stored(line)) if line.pk else {}
        new = [line]
        if also_other_side and not line.pk and line.side != Side.MIDLINE:
            other = PlanLine(stage=stage, **line_values(line))
            other.side = Side(line.side).opposite
            new.append(other)
        if not line.pk and stage.lines.count() + len(new) > MOST_LINES:
            raise PlanError(f"A stage holds at most {MOST_LINES} lines. Add a stage for the rest.")
        for each in new:
            each.save()
            said, after = changes(before, _in_words(each))
            if after:
                trail.add(
                    "plan.line_saved", each, patient_id=stage.plan.patient_id, before=said,
                    after=after,
                )  # fmt: skip
        follow_lines(stage=stage, trail=trail)
    return line


def remove_line(*, line: PlanLine, actor) -> None:
    """
    Take a line out of the plan; the audit trail keeps it.

    Raises:
        StageTreated: its stage belongs to a signed session.
        PlanError: somebody was faster.
    """
    with acting(actor) as trail:
        stage = lock_stage(line.stage)
        stored = _stored(line)
        trail.add(
            "plan.line_removed", stored, patient_id=stage.plan.patient_id, before=_in_words(stored)
        )
        stored.delete()
        follow_lines(stage=stage, trail=trail)


def add_copies(*, stage: PlanStage, lines: Sequence[LineFields], actor) -> int:
    """
    Copies of these lines into a stage; how many there were.

    Raises:
        PlanError: the stage would hold too many.
        StageTreated: it belongs to a signed session.
    """
    with acting(actor) as trail:
        stored = lock_stage(stage)
        if stored.lines.count() + len(lines) > MOST_LINES:
            raise PlanError(f"A stage holds at most {MOST_LINES} lines. Add a stage for the rest.")
        for line in lines:
            PlanLine.objects.create(stage=stored, **line_values(line))
        if lines:
            after = {"stage": stored.number, "lines": [_in_words(line) for line in lines]}
            trail.add(
                "plan.lines_added", stored.plan, patient_id=stored.plan.patient_id, after=after
            )
            follow_lines(stage=stored, trail=trail)
    return len(lines)


def _stored(line: PlanLine) -> PlanLine:
    stored = PlanLine.objects.select_related("product").filter(pk=line.pk).first()
    if stored is None:
        raise PlanError("This line was taken out just now. Look at the plan again.")
    return stored


def _in_words(line: LineFields) -> dict:
    """For the trail: the amount as it is read, so that a row explains itself."""
    return snapshot(line, LINE_FIELDS) | {"amount": format_amount(line.amount, line.measure)}
