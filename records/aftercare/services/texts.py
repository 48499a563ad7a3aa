"""What the owner writes into the advice."""

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting
from planning.aftercare import AftercareKind
from records.aftercare.errors import TextChanged
from records.aftercare.models import AftercareText

_CHANGED = (
    "Somebody saved another version while this page was open. Nothing is saved yet: compare with "
    "it below, then save again and yours holds."
)


def save_text(
    *, kind: AftercareKind, advice: str, signs: str, written_on: int, actor
) -> AftercareText:
    """
    Put a new version on top. Sheets that were given keep the one they were given with.

    Args:
        written_on: the version that was changed, 0 for what comes with the program.

    Raises:
        TextChanged: another version was saved meanwhile.
    """
    try:
        with acting(actor) as trail:
            latest = AftercareText.objects.filter(kind=kind).order_by("-version").first()
            current = latest.version if latest else 0
            if current != written_on:
                raise TextChanged(_CHANGED)
            # Of two at once the second meets the first's number.
            text = AftercareText.objects.create(
                kind=kind, version=current + 1, advice=advice, signs=signs,
                written_at=timezone.now(), written_by=actor,
            )  # fmt: skip
            before = {"advice": latest.advice, "signs": latest.signs} if latest else {}
            after = {"version": text.version, "advice": advice, "signs": signs}
            trail.add("aftercare_text.saved", text, before=before, after=after)
    except IntegrityError as error:
        raise TextChanged(_CHANGED) from error
    return text
