"""Writes to the clinic's face atlas. Each act is one transaction with its audit event."""

from django.db import IntegrityError
from django.utils import timezone

from clinic.atlas.errors import AtlasError
from clinic.atlas.models import AtlasEntry
from clinic.atlas.queries import atlas_for
from clinic.audit.services import acting, changes, snapshot
from planning.amounts import format_amount
from planning.atlas.compilation import supplied
from planning.atlas.guide import GuideEntry, Kind, Use
from planning.atlas.regions import Region
from planning.sources import Confidence

FIELDS = [
    "region", "kind", "use", "term", "text", "least", "most", "per", "substance", "source_title",
    "source_detail", "trust",
]  # fmt: skip
_ANOTHER = "Somebody else decided about this value just now. Look at the region again first."


def save_entry(*, entry: AtlasEntry, actor) -> AtlasEntry:
    """
    Add a value of the clinic's own, or change one.

    Raises:
        AtlasError: the region has an amount for this already, or somebody else was faster.
    """
    _refuse_second_amount(entry)
    entry.is_withdrawal = False
    return _save(entry, "atlas.saved", actor)


def withdraw_supplied(*, key: str, reason: str, actor) -> AtlasEntry:
    """
    Let a supplied value hold no more; the region's page goes on showing it as withdrawn.

    Raises:
        AtlasError: no reason, no such key, or the clinic has a value in its place.
    """
    found = supplied().get(key)
    if found is None:
        raise AtlasError("There is no such supplied value any more.")
    if not reason.strip():
        raise AtlasError("Say why it is withdrawn: the reason is shown beside the value.")
    withdrawal = copied(found)
    withdrawal.is_withdrawal = True
    withdrawal.source_title, withdrawal.source_detail = "Clinic policy", reason.strip()
    withdrawal.trust = Confidence.CLINIC_POLICY
    return _save(withdrawal, "atlas.withdrawn", actor)


def remove_entry(*, entry: AtlasEntry, actor) -> None:
    """
    Take a value of the clinic's own away; the supplied one it replaced or withdrew holds again.

    Raises:
        AtlasError: somebody removed it just now, or the supplied amount would be a second one.
    """
    with acting(actor) as trail:
        stored = AtlasEntry.objects.select_for_update().filter(pk=entry.pk).first()
        if stored is None:
            raise AtlasError("This value is gone already.")
        if stored.is_withdrawal:
            _refuse_second_amount(stored)
        action = "atlas.supplied_again" if stored.replaces else "atlas.removed"
        trail.add(action, stored, before=_in_words(stored))
        stored.delete()


def copied(found: GuideEntry) -> AtlasEntry:
    """An unsaved value that stands for a supplied one and says the same."""
    return AtlasEntry(
        replaces=found.key,
        region=found.region,
        kind=found.kind,
        use=found.use,
        term=found.term,
        text=found.text,
        least=found.least,
        most=found.most,
        per=found.per or "",
        substance=found.substance,
    )


def _save(entry: AtlasEntry, action: str, actor) -> AtlasEntry:
    try:
        with acting(actor) as trail:
            before = {}
            if entry.pk:
                stored = AtlasEntry.objects.select_for_update().filter(pk=entry.pk).first()
                if stored is None:
                    raise AtlasError("This value is gone already. Add it anew.")
                before = _in_words(stored)
            entry.changed_at, entry.changed_by = timezone.now(), actor
            entry.save()
            before, after = changes(before, _in_words(entry))
            trail.add(action, entry, before=before, after=after)
    except IntegrityError as error:
        if _is_taken(entry):
            raise AtlasError(_ANOTHER) from error
        raise
    return entry


def _is_taken(entry: AtlasEntry) -> bool:
    """Whether another row stands where this one would."""
    others = AtlasEntry.objects.exclude(pk=entry.pk)
    same_key = bool(entry.replaces) and others.filter(replaces=entry.replaces).exists()
    same_amount = entry.kind == Kind.AMOUNT and others.filter(
        kind=Kind.AMOUNT, region=entry.region, use=entry.use, substance=entry.substance,
        is_withdrawal=False,
    ).exists()  # fmt: skip
    return same_key or same_amount


def _refuse_second_amount(entry: AtlasEntry) -> None:
    """A region has one usual amount of one kind of product, so that a session has one to meet."""
    if entry.kind != Kind.AMOUNT:
        return
    for value in atlas_for(Region(entry.region)):
        other = value.entry
        if value.row and value.row == entry.pk:
            continue
        is_replaced = value.supplied is None and other.key == entry.replaces
        is_same = (other.kind, other.use, other.substance) == (
            entry.kind, entry.use, entry.substance,
        )  # fmt: skip
        if value.holds and is_same and not is_replaced:
            raise AtlasError(
                f"{Region(entry.region).label} has a usual amount for this already: {other.words}. "
                "Change that one instead."
            )


def _in_words(entry: AtlasEntry) -> dict:
    """For the trail: amounts as they are read."""
    measure = Use(entry.use).measure
    return snapshot(entry, FIELDS) | {
        name: None if amount is None else format_amount(amount, measure)
        for name, amount in (("least", entry.least), ("most", entry.most))
    }
