"""The plan as tablets show it: of a session, or what the next session takes up."""

from collections.abc import Iterable

from clinic.products.models import Product
from records.plans.models import PlanLine, PlanStage
from records.plans.queries.chart import line_places
from records.plans.queries.plans import open_plans

# How much larger than life labels are on a tablet at first.
SCREEN_SCALE = 1.5
_LINE = (
    "region", "side", "plane", "technique", "instrument", "gauge", "length_mm", "amount", "note",
)  # fmt: skip


def plans_of_patients(patients: Iterable[int]) -> dict[int, dict]:
    """By patient, the stage that a session started now would take up."""
    stages = {
        patient: stage
        for patient, plan in open_plans(patients).items()
        if (stage := next(filter(_is_to_come, plan.stages.all()), None))
    }
    return plans_told(stages)


def _is_to_come(stage: PlanStage) -> bool:
    return stage.session_id is None and bool(stage.lines.all())


def plans_told(stages: dict[int, PlanStage]) -> dict[int, dict]:
    """What is told of each of these stages, under the same keys."""
    if not stages:
        return {}
    lines = [line for stage in stages.values() for line in stage.lines.all()]
    alike = _alike(line.product for line in lines)
    counts = _stage_counts(stage.plan_id for stage in stages.values())
    names = _names(stages.values())
    return {
        key: {
            "title": stage.plan.title,
            "stage": stage.number,
            "stages": counts[stage.plan_id],
            "lines": _lines(stage, alike),
            "units": [
                {"name": names[int(pk)], "units": units}
                for pk, units in stage.units_planned.items()
            ],
        }
        for key, stage in stages.items()
    }


def _names(stages: Iterable[PlanStage]) -> dict[int, str]:
    """Of the products whose units the plan opens: one query, none before a session took it up."""
    planned = {int(pk) for stage in stages for pk in stage.units_planned}
    if not planned:
        return {}
    return dict(Product.objects.filter(pk__in=planned).values_list("pk", "name"))


def _stage_counts(plans: Iterable[int]) -> dict[int, int]:
    counts: dict[int, int] = {}
    for plan in PlanStage.objects.filter(plan__in=set(plans)).values_list("plan", flat=True):
        counts[plan] = counts.get(plan, 0) + 1
    return counts


def _alike(products: Iterable[Product]) -> dict[tuple, list[int]]:
    """Packs of any size, by the key of their line: one query."""
    own = list(products)
    found: dict[tuple, list[int]] = {product.line_key: [product.pk] for product in own}
    for product in Product.objects.filter(maker__in={product.maker for product in own}):
        packs = found.get(product.line_key)
        if packs is not None and product.pk not in packs:
            packs.append(product.pk)
    return found


def _lines(stage: PlanStage, alike: dict[tuple, list[int]]) -> list[dict]:
    """`view`, `x_dmm` and `y_dmm`: where a label stands on the chart of the average face."""
    lines = list(stage.lines.all())
    places = line_places(lines, SCREEN_SCALE)
    nowhere = {"view": "", "x_dmm": 0, "y_dmm": 0}
    return [
        _line(line, alike[line.product.line_key]) | places.get(line.pk, nowhere) for line in lines
    ]


def _line(line: PlanLine, products: list[int]) -> dict:
    return {name: getattr(line, name) for name in _LINE} | {
        "key": line.pk,
        "products": products,
        "product_name": line.product.line_name,
        "kind": line.product.kind,
        "measure": line.measure,
    }
