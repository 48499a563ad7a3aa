"""What photographs do at each tick of the worker."""

from clinic.background import ticks
from clinic.background.presence import note_seen
from records.photographs.models import Photograph
from records.photographs.services.small import make_small


def tick() -> None:
    """
    Make the smaller pictures that are missing, the oldest first. One whose file is gone is passed
    over: `verify_pictures` names it.
    """
    for photograph in Photograph.objects.without_thumbnail().order_by("id").iterator(100):
        if ticks.stopping.is_set():
            return
        try:
            make_small(photograph)
        except FileNotFoundError:
            continue
        note_seen()
