"""The demo's plans: made before some treatments, and for people who come today; templates."""

from collections import Counter
from datetime import timedelta
from functools import partial

from clinic.staff.models import User
from planning.atlas.locate import locate, mirror
from planning.vocabulary import Jaw, View
from records.demo.clinic import DemoClinic, at, fixture
from records.demo.story import Story
from records.patients.models import Patient
from records.plans.enums import PlanEnd
from records.plans.models import Plan, PlanLine
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage, change_plan, end_plan, start_plan
from records.plans.services.summaries import issue_summary
from records.plans.services.templates import save_as_template

TITLES = {
    "cheeks": "Cheekbones", "cheek_fan": "Cheeks, fan", "tear_trough": "Tear trough",
    "temples": "Temples", "lips": "Lips", "mouth_corner": "Corners of the mouth", "chin": "Chin",
    "jaw_angle": "Jaw angle", "fine_lines": "Fine lines", "frown": "Frown lines",
    "forehead": "Forehead lines", "crows_feet": "Lines beside the eyes",
}  # fmt: skip
# Kept as templates under what they treat, from the first plans of the people who come today.
AHEAD = [
    (["cheeks", "chin", "jaw_angle"], ["lips"]),
    (["frown", "forehead", "crows_feet"], []),
    (["temples", "cheeks", "tear_trough"], ["mouth_corner", "chin"]),
    (["fine_lines", "mouth_corner"], []),
]
MADE_DAYS_AGO = 3


def plan_ahead(story: Story, patient: Patient, injector: User, names: list[str]) -> None:
    """A plan of one session, by the same injector, right before it is carried out."""
    current = patient.plans.still_open().first()
    if current is not None:
        if current.stages.filter(session__isnull=True).exists():
            return
        end_plan(plan=current, end=PlanEnd.CARRIED_OUT, reason="", actor=injector)
    lines = planned_lines(story.clinic, names)
    # Not every face takes what was planned for it.
    lines[0].amount += lines[0].amount // 4
    start_plan(patient=patient, title=title_of(names), actor=injector, lines=lines)


def note_plans(story: Story) -> None:
    """Note that the plans that are carried out end, and those of people who come today."""
    day = story.today - timedelta(days=MADE_DAYS_AGO)
    story.diary.note(at(day, 16), partial(_end_treated, story))
    for number, stages in enumerate(AHEAD):
        story.diary.note(at(day, 17), partial(_plan_for_today, story, number, *stages))


def _end_treated(story: Story) -> None:
    for plan in Plan.objects.still_open().exclude(stages__session__isnull=True):
        end_plan(plan=plan, end=PlanEnd.CARRIED_OUT, reason="", actor=plan.made_by)


def _plan_for_today(story: Story, number: int, first: list[str], second: list[str]) -> None:
    patient, injector = story.patients[-14 + 2 * number], story.clinic.injectors[0]
    lines = planned_lines(story.clinic, first)
    plan = start_plan(patient=patient, title=title_of(first), actor=injector, lines=lines)
    save_as_template(plan=plan, name=title_of(first), actor=injector)
    if second:
        stage = add_stage(plan=plan, weeks_after=4, actor=injector)
        add_copies(stage=stage, lines=planned_lines(story.clinic, second), actor=injector)
        _say_more(plan, injector)


def _say_more(plan: Plan, injector: User) -> None:
    plan.note = "Anxious about bruises: wedding in ten weeks."
    plan.alternatives = "Skin care and sun protection\nSurgery"
    change_plan(plan=plan, actor=injector)
    issue_summary(plan=plan, actor=injector)


def title_of(names: list[str]) -> str:
    """ "Cheekbones, chin, jaw angle"."""
    first, *rest = [TITLES[name] for name in names]
    return ", ".join([first, *(text[0].lower() + text[1:] for text in rest)])


def planned_lines(clinic: DemoClinic, names: list[str]) -> list[PlanLine]:
    """What the treatments of these names give, by region and side; not saved."""
    lines = []
    for name in names:
        treatment = fixture("treatments")[name]
        amounts: Counter[tuple[str, str]] = Counter()
        for where, x, y in treatment["places"]:
            view = View.RIGHT if where == "side" else View.FRONT
            for on, across, down in ((view, x, y), mirror(view, x, y)):
                found = locate(on, across, down, Jaw.AVERAGE)
                amounts[found.region, found.side] += treatment["amount"]
        for _, x, y in treatment.get("midline", []):
            found = locate(View.FRONT, x, y, Jaw.AVERAGE)
            amounts[found.region, found.side] += treatment["amount"]
        way = ("plane", "technique", "instrument", "gauge", "length_mm")
        lines += [
            PlanLine(
                region=region,
                side=side,
                product=clinic.products[treatment["product"]],
                amount=amount,
                **{part: treatment[part] for part in way},
            )
            for (region, side), amount in amounts.items()
        ]
    return lines
