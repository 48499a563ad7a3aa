"""Dropping what of the files is not needed any more."""

from datetime import timedelta

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from records.imports.enums import State
from records.imports.models import Import
from records.imports.services.mapping import discard


def drop_old_cells() -> None:
    """
    When the time to undo is over, the cells that were not taken in go too; a file that nobody went
    on with for so long is discarded. Numbers of the former record stay: treatments may follow.
    """
    since = timezone.now() - timedelta(days=current_policy().import_undo_days)
    for taken in Import.objects.filter(
        state__in=[State.UPLOADED, State.CHECKED], uploaded_at__lt=since
    ):
        discard(taken=taken, actor=None)
    over = Import.objects.filter(cells_dropped_at__isnull=True)
    for taken in over.filter(state=State.DONE, done_at__lt=since) | over.filter(state=State.UNDONE):
        with acting(None) as trail:
            taken.rows.filter(cells__isnull=False).update(cells=None)
            taken.rows.update(born=None, tail="", email="")
            Import.objects.filter(pk=taken.pk).update(cells_dropped_at=timezone.now())
            trail.add("import.cells_dropped", taken)
