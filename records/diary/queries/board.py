"""
The diary's board: columns side by side on one scale of rows, everything placed by class names.

The content policy allows no style attributes, so a place is written as classes whose numbers
static/css/diary/places.css turns into lengths: "at-h-1 at-m-3" lies an hour and three rows below
the top, "for-h-0 for-m-6" is six rows high.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from planning.diary_grid import (
    PLAIN_DAY,
    ROWS_AN_HOUR,
    Rows,
    clipped,
    clock_change,
    clock_of,
    hours_of,
    lanes_of,
    shown_rows,
    without,
)
from records.appointments.enums import AppointmentState
from records.diary.enums import By
from records.diary.queries.heads import Head
from records.diary.queries.visits import Visit

# Beyond so many beside each other the width is shared no further; they cover each other then.
MOST_LANES = 8
# Free time shorter than this is no offer of its own; a press on the board can still book there.
LEAST_GAP_ROWS = 2
SHORT_ROWS, LOW_ROWS = 3, 4

MOVABLE = (AppointmentState.BOOKED, AppointmentState.ARRIVED)

SIGNS = {
    AppointmentState.OFFERED: "state-offered",
    AppointmentState.ARRIVED: "state-arrived",
    AppointmentState.IN_ROOM: "state-in-room",
    AppointmentState.DONE: "state-done",
    AppointmentState.DID_NOT_ATTEND: "state-excused",
}

# What the signs and looks of visits mean, for the line under the board.
KEY = [(state, SIGNS.get(state, "")) for state in AppointmentState if state != "cancelled"]


@dataclass(frozen=True, slots=True)
class Block:
    """
    A visit in its place; texts are ready to be written.

    Attributes:
        holds: the rows in which nothing else can be, "120-129", preparation and buffer among them;
            "" if it holds none.
    """

    visit: Visit
    place: str
    url: str
    start: str
    until: str
    where: str
    sign: str
    holds: str
    can_move: bool
    is_gap: bool = False
    is_shade: bool = False


@dataclass(frozen=True, slots=True)
class Gap:
    """Free time that opens the booking page."""

    place: str
    url: str
    start: str
    until: str
    is_gap: bool = True
    is_shade: bool = False


@dataclass(frozen=True, slots=True)
class Shade:
    """Time that cannot be booked, with the reason, or out of hours without one."""

    place: str
    start: str
    until: str
    reason: str
    is_gap: bool = False
    is_shade: bool = True


@dataclass(frozen=True, slots=True)
class Column:
    head: Head
    shades: list[Shade]
    edges: list[str]
    items: list[Block | Gap]

    @property
    def parts(self) -> list[Shade | Block | Gap]:
        """Everything by its start, so that a list reads like the day."""
        return sorted([*self.shades, *self.items], key=lambda part: part.start)


@dataclass(frozen=True, slots=True)
class Board:
    """
    Attributes:
        tall: classes of the height of all rows.
        hours: ("10:00", place) down the side.
    """

    shown: Rows
    tall: str
    hours: list[tuple[str, str]]
    columns: list[Column]

    @property
    def is_empty(self) -> bool:
        return not any(column.head.visits for column in self.columns)

    @property
    def has_free_time(self) -> bool:
        return any(item.is_gap for column in self.columns for item in column.items)

    @property
    def closed(self) -> str:
        """Why the clinic is closed on every day that is shown; "" if it is open on one."""
        reasons = [column.head.shape.closed for column in self.columns]
        return reasons[0] if reasons and all(reasons) else ""


def board_of(heads: Sequence[Head], by: By) -> Board:
    """Place everything; the rows shown reach from the first to the last that anybody needs."""
    spans = [rows for head in heads for rows in (*head.shape.open, *head.held)]
    spans += [visit.rows for head in heads for visit in head.visits]
    # Who is away all day does not stretch the board to midnight, and is seen to be away.
    spans += [_within(rows, PLAIN_DAY) for head in heads for rows, _ in head.shape.reasons]
    shown = shown_rows(*spans)
    where_of = _where(heads, by)
    return Board(
        shown=shown,
        tall=_size(shown),
        hours=[(clock_of(row), place(Rows(row, row), shown)) for row in hours_of(shown)],
        columns=[_column(head, shown, where_of) for head in heads],
    )


def place(rows: Rows, shown: Rows) -> str:
    """The classes that put `rows` where they belong on a board that shows `shown`."""
    first = max(rows.first - shown.first, 0)
    hours, fives = divmod(first, ROWS_AN_HOUR)
    return f"at-h-{hours} at-m-{fives} {_size(rows)}"


def _size(rows: Rows) -> str:
    hours, fives = divmod(rows.count, ROWS_AN_HOUR)
    return f"for-h-{hours} for-m-{fives}"


def _where(heads: Sequence[Head], by: By) -> Callable[[Visit], str]:
    """What a visit says beside its time: whose it is, or its room, and its site if they differ."""
    if by == By.ROOM:
        return lambda visit: visit.practitioner
    sites = {visit.site for head in heads for visit in head.visits if visit.site}
    if len(sites) < 2:
        return lambda visit: visit.room or ""
    return lambda visit: ", ".join(filter(None, [visit.room, visit.site]))


def _column(head: Head, shown: Rows, where_of: Callable[[Visit], str]) -> Column:
    items: list[tuple[int, Block | Gap]] = [
        (rows.first, _gap(head, rows, shown)) for rows in head.free if rows.count >= LEAST_GAP_ROWS
    ]
    items += _blocks(head, shown, where_of)
    items.sort(key=lambda item: item[0])
    return Column(
        head=head,
        shades=list(_shades(head, shown)),
        edges=list(_edges(head, shown)),
        items=[item for _, item in items],
    )


def _blocks(
    head: Head, shown: Rows, where_of: Callable[[Visit], str]
) -> list[tuple[int, Block | Gap]]:
    address = reverse("diary-visit", kwargs={"pk": 0}).replace("/0/", "/{}/")
    lanes = lanes_of([visit.rows for visit in head.visits])
    blocks: list[tuple[int, Block | Gap]] = []
    for visit, lane in zip(head.visits, lanes, strict=True):
        classes, held = [place(visit.rows, shown)], visit.held_rows
        if lane.lanes > 1:
            number, count = min(lane.number, MOST_LANES - 1), min(lane.lanes, MOST_LANES)
            classes.append(f"lane-{number} of-{count}")
        if visit.rows.count <= SHORT_ROWS:
            classes.append("visit--short")
        if visit.rows.count <= LOW_ROWS:
            classes.append("visit--low")
        block = Block(
            visit=visit,
            place=" ".join(classes),
            url=address.format(visit.pk),
            start=f"{visit.starts_at:%H:%M}",
            until=f"{visit.ends_at:%H:%M}",
            where=where_of(visit),
            sign=SIGNS.get(visit.state, ""),
            holds=f"{held.first}-{held.end}" if visit.state.takes_place else "",
            can_move=visit.state in MOVABLE,
        )
        blocks.append((visit.rows.first, block))
    return blocks


def _gap(head: Head, rows: Rows, shown: Rows) -> Gap:
    asked = {"day": head.day.isoformat(), "start": clock_of(rows.first)}
    if head.practitioner_id:
        asked["practitioner"] = str(head.practitioner_id)
    if head.room_id:
        asked["room"] = str(head.room_id)
    return Gap(
        place=place(rows, shown),
        url=f"{reverse('appointment-create')}?{urlencode(asked)}",
        start=clock_of(rows.first),
        until=clock_of(rows.end),
    )


def _edges(head: Head, shown: Rows) -> Iterator[str]:
    """Preparation before and buffer after each visit that holds its time."""
    for visit in head.visits:
        if not visit.state.takes_place:
            continue
        held, rows = visit.held_rows, visit.rows
        for edge in (clipped(held.first, rows.first), clipped(rows.end, held.end)):
            if edge.count:
                yield place(edge, shown)


def _shades(head: Head, shown: Rows) -> Iterator[Shade]:
    """Everything that is not open, each stretch with its reason if one is known."""
    named = [(_within(rows, shown), reason) for rows, reason in head.shape.reasons]
    if change := clock_change(head.day, timezone.get_current_timezone()):
        words = "The clocks skip this hour" if change.is_gap else "This hour happens twice"
        named.append((_within(change.rows, shown), words))
    for rows, reason in named:
        if rows.count:
            yield _shade(rows, shown, reason)
    for rows in without([shown], [*head.shape.open, *(rows for rows, _ in named)]):
        yield _shade(rows, shown, "")


def _shade(rows: Rows, shown: Rows, reason: str) -> Shade:
    return Shade(place(rows, shown), clock_of(rows.first), clock_of(rows.end), reason)


def _within(rows: Rows, shown: Rows) -> Rows:
    return clipped(max(rows.first, shown.first), min(rows.end, shown.end))
