"""The demo's rooms and fridge: readings, units carried to the rooms, and stock counts."""

import random
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import partial

from clinic.counts.enums import CountScope, Way
from clinic.counts.models import StockCount
from clinic.counts.queries import compare, expected_units
from clinic.counts.services.counting import see_unit, start_count
from clinic.counts.services.posting import post_count, unit_key
from clinic.fridges.queries import excursions_of
from clinic.fridges.services import decide_excursion, log_reading
from clinic.places.models import Place
from clinic.stock.models import UnitOfStock
from clinic.storage.services import move_units
from planning.stock_counts import Finding
from records.demo.clinic import at
from records.demo.story import Story

READING_DAYS = 60
# In days before today.
CARRIED, FIRST_COUNT, SECOND_COUNT, LEFT_OUT, OPEN_COUNT = 45, 40, 12, 3, 1
_WHY = {
    Finding.MISSING: "Looked for in both rooms and in the cupboard; not there",
    Finding.FOUND: "Had slipped behind the drawer",
}
_TOO_WARM = "Door had not closed: closed it, moved nothing, asked the owner"
_TOO_COLD = "Turned the dial from 6 to 4, set the products apart"
_DECIDED = (
    "Two hours at most above 8 °C, by the memory of the thermometer. The maker’s line was asked "
    "for each lot and sees no reason not to use them; its answer is filed with the fridge’s papers."
)


def plan_shelves(story: Story) -> None:
    """Note everything that happens at the shelves; nothing else depends on it."""
    note, today = story.diary.note, story.today
    for moment, temperature, spread, done in _temperatures(today):
        note(moment, partial(_read, story, temperature, spread, done))
    note(at(_ago(today, CARRIED), 18), partial(_carry_to_rooms, story))
    note(at(_ago(today, FIRST_COUNT), 18), partial(_count_room, story))
    note(at(_ago(today, SECOND_COUNT), 18), partial(_count_room, story))
    note(at(_ago(today, LEFT_OUT), 19), partial(_leave_out, story))
    note(at(_ago(today, OPEN_COUNT), 19), partial(_begin_count, story))


def _temperatures(today: date) -> Iterator[tuple[datetime, int, int, str]]:
    """
    Moment, tenths of a degree, how far the memory reaches on both sides, what was done: twice on
    every open day; two readings in a row that were too warm, and lately one that was too cold.
    """
    rng = random.Random(8)  # noqa: S311 (the same fridge each time, no secret)
    days = [_ago(today, ago) for ago in range(READING_DAYS, 0, -1)]
    moments = [at(day, hour, 10) for day in days if day.isoweekday() != 7 for hour in (8, 17)]
    for number, moment in enumerate(moments):
        temperature, spread, done = rng.randint(38, 58), rng.randint(3, 14), ""
        if number in (40, 41):
            temperature, spread, done = (94, 8, _TOO_WARM)
        elif number == len(moments) - 6:
            temperature, spread, done = (14, 4, _TOO_COLD)
        yield moment, temperature, spread, done


def _read(story: Story, temperature: int, spread: int, done: str) -> None:
    clinic = story.clinic
    fridge, readings = clinic.places["fridge"], clinic.places["fridge"].readings
    people = [*clinic.injectors, clinic.staff["owner"]]
    was_outside = (last := readings.first()) is not None and last.is_outside
    log_reading(
        place=fridge,
        temperature=temperature,
        coldest=temperature - spread,
        warmest=temperature + spread,
        done=done,
        actor=people[readings.count() % len(people)],
    )
    row = excursions_of(fridge)[0] if was_outside and not done else None
    if row and row.excursion.extreme > row.first.highest:
        owner = clinic.staff["owner"]
        decide_excursion(first=row.first, last=row.last, decision=_DECIDED, actor=owner)


def _count_room(story: Story) -> None:
    """Everything is seen but one unit; the one that was missing before has turned up."""
    owner, room = story.clinic.staff["owner"], story.clinic.places["room_2"]
    count = start_count(scope=CountScope.PLACE, place=room, actor=owner)
    *seen, _ = expected_units(count).order_by("id")
    turned_up = UnitOfStock.objects.filter(state="missing").select_related("place__site")
    for unit in [*seen, *turned_up]:
        see_unit(count=count, unit=unit, way=Way.SCANNED, actor=owner)
    _post(count, owner)


def _post(count: StockCount, owner) -> None:
    reasons = {unit_key(line.unit): _WHY[line.finding] for line in compare(count).differences}
    post_count(count=count, explanations=reasons, actor=owner)


def _carry_to_rooms(story: Story) -> None:
    """Both rooms get fillers that are not used up soon."""
    places, injectors = story.clinic.places, story.clinic.injectors
    for room, injector in zip(("room_1", "room_2"), injectors, strict=True):
        shelf = _lying_in(places["cupboard"]).order_by("-id")
        units = [
            unit
            for key in ("fine", "soft", "medium")
            for unit in shelf.filter(lot__product=story.clinic.products[key])[:2]
        ]
        move_units(units=units, place=places[room], reason="For the next sessions", actor=injector)


def _leave_out(story: Story) -> None:
    """One vial stays in a room overnight, although it belongs in the fridge."""
    places = story.clinic.places
    vials = _lying_in(places["fridge"]).order_by("-lot__expires_on", "-id")[:1]
    reason = "For the first session tomorrow"
    move_units(units=vials, place=places["room_2"], reason=reason, actor=story.clinic.injectors[1])


def _begin_count(story: Story) -> None:
    """Begun in the evening, to be posted."""
    injector, room = story.clinic.injectors[0], story.clinic.places["room_1"]
    count = start_count(scope=CountScope.PLACE, place=room, actor=injector)
    for unit in expected_units(count)[:4]:
        see_unit(count=count, unit=unit, way=Way.TICKED, actor=injector)


def _lying_in(place: Place):
    return UnitOfStock.objects.in_stock().filter(place=place)


def _ago(today: date, days: int) -> date:
    return today - timedelta(days=days)
