"""Reads of places."""

from clinic.places.models import Place


def place_names() -> dict[int, str]:
    """What each place is called in a list, by its id; with the site where there are several."""
    places = list(Place.objects.all())
    is_one_site = len({place.site_id for place in places}) == 1
    return {place.pk: place.name if is_one_site else str(place) for place in places}
