"""What a plan costs the patient, what lasts how long, and what else was spoken of."""

from dataclasses import dataclass

from clinic.policy.models import ClinicPolicy
from clinic.review_rules.queries import known_durations
from planning.atlas.region_groups import group_of
from planning.atlas.regions import Region
from planning.durations import duration_for
from planning.vocabulary import ProductKind
from records.plans.models import Plan, PlanLine
from records.plans.queries.units import StageUnits, units_for


@dataclass(frozen=True)
class Duration:
    """How long a product usually lasts in some parts of the body; `text` is empty if not known."""

    name: str
    parts: str
    text: str
    source: str


@dataclass(frozen=True)
class Quote:
    """
    Attributes:
        stages: those still to be treated, with what each opens.
        total: in hundredths of `currency`; None where a price is missing, or nothing is planned.
        unpriced: names of what has no price; see `StageUnits.unpriced`.
    """

    stages: list[StageUnits]
    total: int | None
    unpriced: list[str]
    currency: str
    durations: list[Duration]
    alternatives: list[str]


def quote_of(plan: Plan, policy: ClinicPolicy) -> Quote:
    """Of what is still to be done of the plan; a plan read by `with_lines`."""
    stages = units_for(plan, policy)
    costs = [row.cost for row in stages]
    unpriced = dict.fromkeys(product.name for row in stages for product in row.unpriced)
    known = [cost for cost in costs if cost is not None]
    return Quote(
        stages=stages,
        total=sum(known) if stages and len(known) == len(costs) else None,
        unpriced=list(unpriced),
        currency=policy.currency,
        durations=_durations([line for row in stages for line in row.stage.lines.all()]),
        alternatives=[text.strip() for text in plan.alternatives.splitlines() if text.strip()],
    )


def _durations(lines: list[PlanLine]) -> list[Duration]:
    """Each product in each part of the body; parts of the same duration in one row."""
    known = known_durations()
    parts: dict[tuple[str, str, str], list[str]] = {}
    for line in lines:
        product, group = line.product, group_of(Region(line.region))
        found = duration_for(known, ProductKind(product.kind), group)
        if found:
            key = (product.line_name, found.months_text, str(found.source))
        elif months := product.typical_duration_months:
            unit = "month" if months == 1 else "months"
            key = (product.line_name, f"about {months} {unit}", "this clinic’s note of the product")
        else:
            key = (product.line_name, "", "")
        of_key = parts.setdefault(key, [])
        if group.label.lower() not in of_key:
            of_key.append(group.label.lower())
    return [
        Duration(name, ", ".join(of_key), text, source)
        for (name, text, source), of_key in parts.items()
    ]
