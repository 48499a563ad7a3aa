"""The clinic's own templates of plans."""

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from records.plans.errors import PlanError
from records.plans.models import Plan, PlanStage, PlanTemplate, TemplateLine
from records.plans.services.lines import add_copies, line_values
from records.plans.services.plans import add_stage, lock_open

TEMPLATE_FIELDS = ["name", "is_active"]


def save_as_template(*, plan: Plan, name: str, actor) -> PlanTemplate:
    """
    Keep the lines of a plan under a name; nothing of the patient goes with them.

    Raises:
        PlanError: the plan has no line.
    """
    stages = list(plan.stages.prefetch_related("lines__product"))
    if not any(stage.lines.all() for stage in stages):
        raise PlanError("The plan has no line yet, so there is nothing to keep.")
    with acting(actor) as trail:
        template = PlanTemplate.objects.create(name=name, saved_at=timezone.now(), saved_by=actor)
        for stage in stages:
            for line in stage.lines.all():
                values = line_values(line) | {"note": ""}  # a note may say something of the patient
                TemplateLine.objects.create(
                    template=template, stage=stage.number, weeks_after=stage.weeks_after, **values
                )
        trail.add("template.saved", template, after=snapshot(template, TEMPLATE_FIELDS))
    return template


def change_template(*, template: PlanTemplate, actor) -> PlanTemplate:
    """Rename a template, or offer it no longer."""
    with acting(actor) as trail:
        stored = PlanTemplate.objects.select_for_update().get(pk=template.pk)
        before = snapshot(stored, TEMPLATE_FIELDS)
        template.save(update_fields=TEMPLATE_FIELDS)
        before, after = changes(before, snapshot(template, TEMPLATE_FIELDS))
        if after:
            trail.add("template.changed", template, before=before, after=after)
    return template


def remove_template_line(*, line: TemplateLine, actor) -> None:
    """
    Take a line out of a template.

    Raises:
        PlanError: it is the last one.
    """
    with acting(actor) as trail:
        template = PlanTemplate.objects.select_for_update().get(pk=line.template_id)
        if template.lines.count() == 1:
            raise PlanError("A template has at least one line. Offer it no longer instead.")
        trail.add("template.line_removed", template, before={"line": str(line)})
        line.delete()


def apply_template(*, plan: Plan, template: PlanTemplate, stage: PlanStage, actor) -> int:
    """
    Copies of the template's lines into the plan, from `stage` on; how many there were. Stages that
    the plan lacks are added.
    """
    lines = list(template.lines.select_related("product"))
    with acting(actor):
        lock_open(plan.pk)
        for number in sorted({line.stage for line in lines}):
            of_stage = [line for line in lines if line.stage == number]
            target = plan.stages.filter(number=stage.number + number - 1).first()
            while target is None:
                added = add_stage(plan=plan, weeks_after=of_stage[0].weeks_after, actor=actor)
                target = added if added.number == stage.number + number - 1 else None
            add_copies(stage=target, lines=of_stage, actor=actor)
    return len(lines)
