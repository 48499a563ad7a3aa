"""Which photograph an address names, for the person who asks."""

import uuid

from django.http import Http404, HttpRequest

from clinic.access.enums import Role
from records.photographs.models import Photograph


def find_photograph(request: HttpRequest, key: uuid.UUID) -> Photograph:
    """One that was taken out of the record is there for the practice owner alone."""
    found = Photograph.objects.select_related("patient", "session", "added_by", "removed_by")
    photograph = found.filter(key=key).first()
    is_owner = Role.OWNER in request.user.roles  # type: ignore[union-attr]
    if photograph is None or (photograph.removed_at is not None and not is_owner):
        raise Http404("There is no such photograph.")
    return photograph
