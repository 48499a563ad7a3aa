"""What a plan costs the patient, what lasts how long, and what else was spoken of."""

from dataclasses import dataclass

from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from records.plans.models import Plan, PlanLine, PlanStage
from records.plans.queries.units import StageUnits, units_for


@dataclass(frozen=True)
class Duration:
    """How long a product usually lasts, in months; None where the clinic has noted nothing."""

    name: str
    months: int | None


@dataclass(frozen=True)
class Quote:
    """
    Attributes:
        stages: those still to be treated, with what each opens.
        total: in hundredths of `currency`; None where a price is missing, or nothing is planned.
        unpriced: names of what has no price.
    """

    stages: list[StageUnits]
    total: int | None
    unpriced: list[str]
    currency: str
    durations: list[Duration]
    alternatives: list[str]

    def of(self, stage: PlanStage) -> StageUnits | None:
        return next((row for row in self.stages if row.stage == stage), None)


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
    products: dict[tuple, Product] = {line.product.line_key: line.product for line in lines}
    return [
        Duration(product.line_name, product.typical_duration_months)
        for product in products.values()
    ]
