"""The owner's view: how treatments turn out, by region, product and injector."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.printing.csv_files import csv_download
from planning.interval_plot import grid
from planning.intervals import USUAL_LEVEL
from planning.outcomes import Improvement
from planning.sources import (
    IMPROVED_CUT,
    IMPROVEMENT_SCALE,
    QUARTILES,
    SATISFACTION_SCALE,
    WILSON_INTERVAL,
)
from records.outcomes.exports import outcomes_as_csv
from records.outcomes.forms.owning import OutcomeForm
from records.outcomes.queries.rates import outcomes

# What stands in the table, and where the scale or the method comes from.
METHODS = (
    ("Grades 1 to 5", IMPROVEMENT_SCALE),
    ("Improved or better", IMPROVED_CUT),
    (f"From … to …: {USUAL_LEVEL:.0%} interval".replace("%", " %"), WILSON_INTERVAL),
    ("Satisfaction", SATISFACTION_SCALE),
    ("Median, and middle half of the answers", QUARTILES),
)


@allow(Role.OWNER)
@require_safe
def outcome_rates(request: HttpRequest) -> HttpResponse:
    """The reviews of the days asked for, added up."""
    form = OutcomeForm(request.GET)
    if not form.is_valid():
        return render(request, "outcomes/rates.html", {"form": form})
    by, rater = form.chosen
    context = {
        "form": form,
        "by": by,
        "rater": rater,
        "found": outcomes(form.period, by, rater),
        "grades": list(Improvement),
        "grid": grid(),
        "methods": METHODS,
    }
    return render(request, "outcomes/rates.html", context)


@allow(Role.OWNER)
@require_safe
def outcome_rates_csv(request: HttpRequest) -> HttpResponseBase:
    """The table of the days asked for as CSV."""
    form = OutcomeForm(request.GET)
    if not form.is_valid():
        return render(request, "outcomes/rates.html", {"form": form})
    (by, rater), period = form.chosen, form.period
    lines = outcomes_as_csv(by, rater, outcomes(period, by, rater))
    return csv_download(f"outcomes-by-{by}-{period.first}-{period.last}", lines)
