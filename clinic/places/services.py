"""Writes to places. Each act is one transaction with its audit event."""

from clinic.audit.services import acting, changes, snapshot
from clinic.places.errors import PlaceError
from clinic.places.models import Place
from planning.temperatures import format_temperature

PLACE_FIELDS = ["site", "name", "kind", "lowest_tenths", "highest_tenths", "is_active"]


def save_place(*, place: Place, actor) -> Place:
    """
    Add or change a place, or take it out of use.

    Raises:
        PlaceError: it is to be taken out of use while something lies there.
    """
    with acting(actor) as trail:
        before = {}
        if place.pk:
            stored = Place.objects.select_for_update(of=("self",)).get(pk=place.pk)
            before = _in_words(stored)
            here = stored.units.with_something_left().count()
            if here and stored.is_active and not place.is_active:
                raise PlaceError(
                    f"Units of stock lie here: {here:,}. Move them first, then take the place out "
                    "of use."
                )
        place.save()
        before, after = changes(before, _in_words(place))
        trail.add("place.saved", place, before=before, after=after)
    return place


def _in_words(place: Place) -> dict:
    """For the trail: temperatures as they are read, and the name of the site."""
    ends = {"lowest_tenths": place.lowest_tenths, "highest_tenths": place.highest_tenths}
    return (
        snapshot(place, PLACE_FIELDS)
        | {"site": place.site.name}
        | {
            name: None if tenths is None else format_temperature(tenths)
            for name, tenths in ends.items()
        }
    )
