"""The temperature log as a table for a spreadsheet."""

from collections.abc import Iterator

from django.utils import timezone

from clinic.fridges.models import FridgeReading
from clinic.places.models import Place
from clinic.printing.csv_files import as_text, csv_lines
from planning.temperatures import plain_temperature

COLUMNS = [
    "site", "fridge", "read_at", "temperature_c", "lowest_since_c", "highest_since_c",
    "range_from_c", "range_to_c", "out_of_range", "what_was_done", "note", "by", "logged_at",
]  # fmt: skip


def log_as_csv(place: Place) -> Iterator[str]:
    """Every reading of one fridge, the oldest first; times in the clinic's zone, ISO 8601."""
    readings = place.readings.select_related("by").order_by("read_at").iterator(chunk_size=1_000)
    names = [as_text(place.site.name), as_text(place.name)]
    return csv_lines(COLUMNS, ([*names, *_cells(reading)] for reading in readings))


def _cells(reading: FridgeReading) -> list[str]:
    read_at, logged_at = (
        timezone.localtime(moment).isoformat(timespec="minutes")
        for moment in (reading.read_at, reading.logged_at)
    )
    temperatures = (
        reading.temperature, reading.coldest, reading.warmest, reading.lowest, reading.highest,
    )  # fmt: skip
    return [
        read_at,
        *("" if tenths is None else plain_temperature(tenths) for tenths in temperatures),
        "yes" if reading.is_outside else "no",
        as_text(reading.done),
        as_text(reading.note),
        as_text(reading.by.full_name),
        logged_at,
    ]
