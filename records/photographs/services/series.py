"""The clinic's own series of photographs for a kind of product."""

from collections.abc import Sequence

from django.utils import timezone

from clinic.audit.services import acting, changes
from planning.standard_views import Shot
from planning.vocabulary import ProductKind
from records.photographs.models import ChosenSeries


def choose_series(*, kind: ProductKind, shots: Sequence[Shot], actor) -> ChosenSeries:
    """Take these for this kind of product from now on; none at all is a choice as well."""
    keys = [shot.key for shot in shots]
    with acting(actor) as trail:
        chosen = ChosenSeries.objects.select_for_update().filter(kind=kind).first()
        before = {"shots": chosen.shots} if chosen else {}
        chosen, _ = ChosenSeries.objects.update_or_create(
            kind=kind,
            defaults={"shots": keys, "changed_at": timezone.now(), "changed_by": actor},
        )
        before, after = changes(before, {"shots": keys})
        if after:
            trail.add("chosen_series.changed", chosen, before=before, after=after)
    return chosen


def use_usual_series(*, kind: ProductKind, actor) -> None:
    """Go back to the usual series; nothing happens where it is in use."""
    with acting(actor) as trail:
        chosen = ChosenSeries.objects.select_for_update().filter(kind=kind).first()
        if chosen is not None:
            trail.add("chosen_series.removed", chosen, before={"shots": chosen.shots})
            chosen.delete()
