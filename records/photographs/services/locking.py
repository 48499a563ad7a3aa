"""The lock that whoever changes a photograph, or what is agreed about it, takes first."""

from records.photographs.errors import PhotographGone
from records.photographs.models import Photograph


def lock_photograph(photograph: Photograph) -> Photograph:
    """
    The stored row, locked.

    Raises:
        PhotographGone: it was taken out of the record.
    """
    stored = Photograph.objects.select_for_update(of=("self",)).get(pk=photograph.pk)
    if stored.removed_at is not None:
        raise PhotographGone("This photograph was taken out of the record meanwhile.")
    return stored
