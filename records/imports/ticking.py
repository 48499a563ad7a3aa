"""What imports do at each tick of the worker: go on with one that nobody's page carries on."""

from clinic.background import ticks
from clinic.background.queue import tick_now
from records.imports.enums import State
from records.imports.models import Import
from records.imports.services.batches import carry_on
from records.imports.services.tidying import drop_old_cells

STEP_SECONDS = 10
"""Messages wait no longer than this for an import; the next tick goes on with it."""


def tick() -> None:
    at_work = [state for state in State if state.is_at_work]
    for taken in Import.objects.filter(state__in=at_work).order_by("id"):
        if carry_on(taken=taken, seconds=STEP_SECONDS, is_over=ticks.stopping.is_set):
            tick_now()
            return
    drop_old_cells()
