"""
The diary's board: columns side by side on one scale of rows, everything placed by class names.

The content policy allows no style attributes, so a place is written as classes whose numbers
static/css/diary/places.css turns into lengths: "at-h-1 at-m-3" lies an hour and three rows below
the top, "for-h-0 for-m-6" is six rows high.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from clinic.visit_kinds.enums import AppointmentKind
from planning.diary_grid import (
    PLAIN_DAY,
    ROWS_AN_HOUR,
    Lane,
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
# As much as a line of words takes.
WORDS_ROWS = 3

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
        minutes: what the visit takes, without preparation and buffer.
        asked: in words what the patient asks for by an answer that nobody settled, or "".
        in_the_way: why the visit has to be moved ("Leave"), or "".
        holds: the rows in which nothing else can be, "120-129", preparation and buffer among them;
            "" if it holds none.
    """

    pk: int
    place: str
    url: str
    start: str
    until: str
    minutes: int
    patient: str
    practitioner_id: int
    room_id: int | None
    where: str
    kind: AppointmentKind
    state: AppointmentState
    sign: str
    asked: str
    late_minutes: int
    has_alert: bool
    in_the_way: str
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
    """
    Time that cannot be booked, with the reason, or out of hours without one.

    Attributes:
        words: where in it the reason stands, beside what is booked there all the same.
    """

    place: str
    start: str
    until: str
    reason: str
    words: str
    is_gap: bool = False
    is_shade: bool = True


@dataclass(frozen=True, slots=True)
class Column:
    """
    Everything that is written of a column, and nothing else: the template keeps what it made of
    one for the next that has the same `repr`.

    Attributes:
        site: of a room, where the clinic has several.
        day: "2026-12-01".
        tall: classes of the height of all rows.
        parts: everything by its start, so that a list reads like the day.
    """

    key: str
    title: str
    site: str
    url: str
    day: str
    practitioner_id: int | None
    room_id: int | None
    notes: list[str]
    tall: str
    edges: list[str]
    parts: list[Shade | Block | Gap]

    @property
    def full_title(self) -> str:
        """Also where it is, if that has to be said."""
        return f"{self.title}, {self.site}" if self.site else self.title


@dataclass(frozen=True, slots=True)
class Board:
    """
    Attributes:
        tall: classes of the height of all rows.
        hours: ("10:00", place) down the side.
        closed: why the clinic is closed on every day that is shown; "" if it is open on one.
        to_move: how many of the visits shown have to be moved.
    """

    shown: Rows
    tall: str
    hours: list[tuple[str, str]]
    columns: list[Column]
    is_empty: bool
    closed: str
    to_move: int

    @property
    def has_free_time(self) -> bool:
        return any(part.is_gap for column in self.columns for part in column.parts)


def board_of(heads: Sequence[Head[Visit]], by: By, in_the_way: Mapping[int, str]) -> Board:
    """
    Place everything; the rows shown reach from the first to the last that anybody needs.

    Args:
        in_the_way: why visits have to be moved, by their keys.
    """
    spans = [rows for head in heads for rows in (*head.shape.open, *head.held)]
    spans += [visit.rows for head in heads for visit in head.visits]
    # Who is away all day does not stretch the board to midnight, and is seen to be away.
    spans += [_within(rows, PLAIN_DAY) for head in heads for rows, _ in head.shape.reasons]
    shown = shown_rows(*spans)
    where_of = _where(heads, by)
    reasons = [head.shape.closed for head in heads]
    return Board(
        shown=shown,
        tall=_size(shown),
        hours=[(clock_of(row), place(Rows(row, row), shown)) for row in hours_of(shown)],
        columns=[_column(head, shown, where_of, in_the_way) for head in heads],
        is_empty=not any(head.visits for head in heads),
        closed=reasons[0] if reasons and all(reasons) else "",
        to_move=sum(visit.pk in in_the_way for head in heads for visit in head.visits),
    )


def place(rows: Rows, shown: Rows) -> str:
    """The classes that put `rows` where they belong on a board that shows `shown`."""
    first = max(rows.first - shown.first, 0)
    hours, fives = divmod(first, ROWS_AN_HOUR)
    return f"at-h-{hours} at-m-{fives} {_size(rows)}"


def _size(rows: Rows) -> str:
    hours, fives = divmod(rows.count, ROWS_AN_HOUR)
    return f"for-h-{hours} for-m-{fives}"


def _where(heads: Sequence[Head[Visit]], by: By) -> Callable[[Visit], str]:
    """What a visit says beside its time: whose it is, or its room, and its site if they differ."""
    if by == By.ROOM:
        return lambda visit: visit.practitioner
    sites = {visit.site for head in heads for visit in head.visits if visit.site}
    if len(sites) < 2:
        return lambda visit: visit.room or ""
    return lambda visit: ", ".join(filter(None, [visit.room, visit.site]))


def _column(
    head: Head[Visit],
    shown: Rows,
    where_of: Callable[[Visit], str],
    in_the_way: Mapping[int, str],
) -> Column:
    parts: list[Shade | Block | Gap] = [
        *_shades(head, shown),
        *_gaps(head, shown),
        *_blocks(head, shown, where_of, in_the_way),
    ]
    return Column(
        key=head.key,
        title=head.title,
        site=head.site,
        url=head.url,
        day=head.day.isoformat(),
        practitioner_id=head.practitioner_id,
        room_id=head.room_id,
        notes=head.notes,
        tall=_size(shown),
        edges=list(_edges(head, shown)),
        parts=sorted(parts, key=attrgetter("start")),
    )


def _blocks(
    head: Head[Visit],
    shown: Rows,
    where_of: Callable[[Visit], str],
    in_the_way: Mapping[int, str],
) -> Iterator[Block]:
    address = reverse("diary-visit", kwargs={"pk": 0}).replace("/0/", "/{}/")
    lanes = lanes_of([visit.rows for visit in head.visits])
    for visit, lane in zip(head.visits, lanes, strict=True):
        held = visit.held_rows
        yield Block(
            pk=visit.pk,
            place=_block_place(visit.rows, lane, shown),
            url=address.format(visit.pk),
            start=f"{visit.starts_at:%H:%M}",
            until=f"{visit.ends_at:%H:%M}",
            minutes=visit.minutes,
            patient=visit.patient,
            practitioner_id=visit.practitioner_id,
            room_id=visit.room_id,
            where=where_of(visit),
            kind=visit.kind,
            state=visit.state,
            sign=SIGNS.get(visit.state, ""),
            asked=visit.asked.label if visit.asked else "",
            late_minutes=visit.late_minutes,
            has_alert=visit.has_alert,
            in_the_way=in_the_way.get(visit.pk, ""),
            holds=f"{held.first}-{held.end}" if visit.state.takes_place else "",
            can_move=visit.state in MOVABLE,
        )


def _block_place(rows: Rows, lane: Lane, shown: Rows) -> str:
    """As `place`, with the lane beside others, and how much of the text has room."""
    classes = [place(rows, shown)]
    if lane.lanes > 1:
        number, count = min(lane.number, MOST_LANES - 1), min(lane.lanes, MOST_LANES)
        classes.append(f"lane-{number} of-{count}")
    if rows.count <= SHORT_ROWS:
        classes.append("visit--short")
    if rows.count <= LOW_ROWS:
        classes.append("visit--low")
    return " ".join(classes)


def _gaps(head: Head[Visit], shown: Rows) -> Iterator[Gap]:
    asked = {"day": head.day.isoformat(), "start": ""}
    if head.practitioner_id:
        asked["practitioner"] = str(head.practitioner_id)
    if head.room_id:
        asked["room"] = str(head.room_id)
    address = reverse("appointment-create")
    for rows in head.free:
        if rows.count >= LEAST_GAP_ROWS:
            asked["start"] = start = clock_of(rows.first)
            yield Gap(
                place=place(rows, shown),
                url=f"{address}?{urlencode(asked)}",
                start=start,
                until=clock_of(rows.end),
            )


def _edges(head: Head[Visit], shown: Rows) -> Iterator[str]:
    """Preparation before and buffer after each visit that holds its time."""
    for visit in head.visits:
        if not visit.state.takes_place:
            continue
        held, rows = visit.held_rows, visit.rows
        for edge in (clipped(held.first, rows.first), clipped(rows.end, held.end)):
            if edge.count:
                yield place(edge, shown)


def _shades(head: Head[Visit], shown: Rows) -> Iterator[Shade]:
    """Everything that is not open, each stretch with its reason if one is known."""
    named = [(_within(rows, shown), reason) for rows, reason in head.shape.reasons]
    if change := clock_change(head.day, timezone.get_current_timezone()):
        words = "The clocks skip this hour" if change.is_gap else "This hour happens twice"
        named.append((_within(change.rows, shown), words))
    taken = [visit.rows for visit in head.visits]
    for rows, reason in named:
        if rows.count:
            seen = [left for left in without([rows], taken) if left.count >= WORDS_ROWS]
            words = place(Rows(seen[0].first, seen[0].first), rows) if seen else ""
            yield _shade(rows, shown, reason, words)
    for rows in without([shown], [*head.shape.open, *(rows for rows, _ in named)]):
        yield _shade(rows, shown, "")


def _shade(rows: Rows, shown: Rows, reason: str, words: str = "") -> Shade:
    return Shade(place(rows, shown), clock_of(rows.first), clock_of(rows.end), reason, words)


def _within(rows: Rows, shown: Rows) -> Rows:
    return clipped(max(rows.first, shown.first), min(rows.end, shown.end))
