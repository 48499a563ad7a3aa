"""Writes to the temperature log. Each act is one transaction with its audit event."""

from datetime import datetime, timedelta

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting
from clinic.fridges.errors import FridgeError, NotSaidWhatWasDone, WrongTime
from clinic.fridges.models import ExcursionReview, FridgeReading
from clinic.places.models import Place
from planning.temperatures import TemperatureError, format_temperature

# A slip in the date, not a limit of honesty: what was read on paper is typed within days.
LATEST_DAYS = 14


def log_reading(
    *,
    place: Place,
    temperature: int,
    actor,
    coldest: int | None = None,
    warmest: int | None = None,
    done: str = "",
    note: str = "",
    read_at: datetime | None = None,
) -> FridgeReading:
    """
    Write down one look at a fridge's thermometer, in the name of whoever looked.

    Args:
        temperature, coldest, warmest: tenths of a degree; the latter two from its memory.
        done: what was done, where one of them is out of range.
        read_at: when somebody looked, if not now.

    Raises:
        NotSaidWhatWasDone: out of range, and nobody said.
        WrongTime: still to come, too long ago or taken.
        FridgeError: not a fridge, or a memory that cannot be.
    """
    now = timezone.now()
    read_at = read_at or now
    if not place.is_fridge or place.kept_between is None:
        raise FridgeError(f"{place} is no fridge, so it keeps no temperature log.")
    if read_at > now:
        raise WrongTime("This time is still to come. Compare day and hour.")
    if read_at < now - timedelta(days=LATEST_DAYS):
        raise WrongTime(f"A reading is written down within {LATEST_DAYS} days. Check the date.")
    lowest, highest = place.kept_between
    reading = FridgeReading(
        place=place, read_at=read_at, temperature=temperature, coldest=coldest, warmest=warmest,
        lowest=lowest, highest=highest, done=done.strip(),
        note=note.strip(), logged_at=now, by=actor,
    )  # fmt: skip
    try:
        is_outside = reading.is_outside
    except TemperatureError as error:
        raise FridgeError(str(error)) from error
    if is_outside and not reading.done:
        raise NotSaidWhatWasDone(
            f"This is outside of {format_temperature(reading.lowest)} to "
            f"{format_temperature(reading.highest)}: say what was done."
        )
    return _save(reading, actor)


def _save(reading: FridgeReading, actor) -> FridgeReading:
    try:
        with acting(actor) as trail:
            reading.save()
            trail.add("fridge.read", reading, after=_in_words(reading))
    except IntegrityError:
        if not reading.place.readings.filter(read_at=reading.read_at).exists():
            raise
        raise WrongTime("This fridge has a reading of that very time already.") from None
    return reading


def _in_words(reading: FridgeReading) -> dict:
    """For the trail: temperatures as they are read."""
    temperatures = {
        "temperature": reading.temperature, "coldest": reading.coldest, "warmest": reading.warmest,
    }  # fmt: skip
    return {
        "place": reading.place_id,
        "read_at": reading.read_at.isoformat(),
        **{
            name: format_temperature(tenths)
            for name, tenths in temperatures.items()
            if tenths is not None
        },
        **{name: text for name in ("done", "note") if (text := getattr(reading, name))},
    }


def decide_excursion(
    *, first: FridgeReading, last: FridgeReading, decision: str, actor
) -> ExcursionReview:
    """
    Write down what was decided about the products, for the readings from `first` to `last`.

    Raises:
        FridgeError: nothing said, or the readings are not an excursion of one fridge.
    """
    if not decision.strip():
        raise FridgeError("Say what was decided about the products, and on whose advice.")
    if first.place_id != last.place_id or last.read_at < first.read_at:
        raise FridgeError("These readings are not one excursion of one fridge.")
    with acting(actor) as trail:
        review = ExcursionReview.objects.create(
            first=first, last=last, decision=decision.strip(), at=timezone.now(), by=actor
        )
        trail.add(
            "fridge.excursion_decided", first, after={"until": last.read_at.isoformat()},
            reason=review.decision,
        )  # fmt: skip
    return review
