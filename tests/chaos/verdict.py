"""
Does what was asked for on the tablets agree with what the clinic keeps?

A model of its own, in plain Python: it knows the tablets' acts as they were asked for, the answers
as they went over the wire, the database's rows and what the tablets show, and nothing of how the
tool gets from one to the other.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass, field

POINT_KINDS = {"log", "change", "move", "remove", "restore"}
MARKING_KINDS = {"plan", "unplan", "replan"}
# Columns of a point that an act sets; an empty region or side is filled in by the clinic.
PLACE = ("x_dmm", "y_dmm")
CONTENT = ("unit", "view", *PLACE, "plane", "technique", "instrument", "amount")


@dataclass
class Act:
    """
    One act as it was asked for on a tablet.

    Attributes:
        base: id of the act it builds on, as the tablet said; None for the first on its thing.
        is_written: the tablet said that its storage holds it.
        is_torn: its page was closed or killed before that, so that it may be gone.
        given_up: a person chose not to keep it as it is, after it was shown.
        replaced_by: what was made for it by that choice, if it was to be kept in another form.
    """

    id: str
    kind: str
    session: str
    data: dict
    base: str | None
    tablet: str
    step: int
    is_written: bool = False
    is_torn: bool = False
    given_up: bool = False
    replaced_by: str | None = None

    @property
    def must_be_stored(self) -> bool:
        return not self.given_up and (self.is_written or not self.is_torn)

    @property
    def thing(self) -> tuple[str, str]:
        """What it is about: a point or marking by its key, else the session."""
        if self.kind in POINT_KINDS | MARKING_KINDS:
            return ("point" if self.kind in POINT_KINDS else "marking", self.data["key"])
        return ("session", self.session)

    def __str__(self) -> str:
        on = f" on {self.base[:8]}" if self.base else ""
        return f"{self.kind} {self.id[:8]}{on} (step {self.step}, {self.tablet})"


@dataclass
class Stored:
    """What the database holds; keys and ids as text."""

    operations: dict[str, dict] = field(default_factory=dict)  # id -> kind, outcome, order
    points: dict[str, dict] = field(default_factory=dict)  # key -> CONTENT, session, removed
    markings: dict[str, bool] = field(default_factory=dict)  # key -> removed
    set_aside: set[str] = field(default_factory=set)  # keys of sessions
    units: dict[int, dict] = field(default_factory=dict)  # pk -> label, drawn, waste, ledger, held
    held: list[tuple[str, str, str]] = field(default_factory=list)  # see _opened_in_quarantine
    events: Counter[str] = field(default_factory=Counter)  # audit action -> how often
    faults: list[str] = field(default_factory=list)  # what the tool's own checks say

    @property
    def applied(self) -> set[str]:
        return {id for id, row in self.operations.items() if row["outcome"] == "applied"}


@dataclass
class Shown:
    """What one tablet shows and still keeps at the end."""

    tablet: str
    points: dict[str, dict]  # key -> CONTENT of standing points, of all sessions shown
    sessions: set[str]  # those it shows at all
    held: dict[int, bool]  # units on their trays -> whether it says that they are in quarantine
    waiting: list[str]  # acts in words, each with why it waits


def differences(
    acts: dict[str, Act], acknowledged: Counter[str], stored: Stored, shown: list[Shown]
) -> list[str]:
    """
    Sentences on all that does not fit; empty when nothing was lost, doubled or made up.

    Args:
        acts: by id.
        acknowledged: id -> how often an answer called it applied.
    """
    applied = stored.applied
    found = [*_lost(acts, acknowledged, stored, applied), *_made_up(acts, stored, applied)]
    expected, problems = expected_points(acts, stored)
    found += problems
    found += _unlike(expected, stored)
    found += _markings(acts, applied, stored)
    found += _set_aside(acts, applied, stored)
    found += _counted(acts, applied, stored)
    found += _amounts(acts, applied, stored)
    found += _opened_in_quarantine(stored)
    for tablet in shown:
        found += _on_tablet(tablet, stored)
    return found + stored.faults


def _lost(acts, acknowledged, stored, applied):
    # An act that arrived before a person gave it up stands, and its withdrawal comes to nothing.
    for id in acknowledged:
        if id not in applied:
            yield f"acknowledged, but not stored: {acts.get(id, id)}"
    too_late = {
        act.data["operation"]
        for id, act in acts.items()
        if act.kind == "withdraw" and id not in applied and act.data["operation"] in applied
    }
    for id, act in acts.items():
        is_moot = act.kind == "withdraw" and act.data["operation"] in too_late
        if act.must_be_stored and id not in applied and not is_moot:
            outcome = stored.operations.get(id, {}).get("outcome", "no row")
            yield f"made on a tablet, given up by nobody, but not stored ({outcome}): {act}"
            if base := acts.get(act.base):
                there = stored.operations.get(base.id, {}).get("outcome", "no row")
                yield f"  built on {base}: {there}, given up {base.given_up}, torn {base.is_torn}"
        if act.given_up and id in applied and id not in too_late:
            yield f"given up by a person, but stored: {act}"
        if id in applied and act.replaced_by in applied:
            yield f"stored, and stored again as {act.replaced_by[:8]}: {act}"


def _made_up(acts, stored, applied):
    for id in applied - acts.keys():
        yield f"stored, but never asked for: {stored.operations[id]['kind']} {id}"
    for id in applied & acts.keys():
        if stored.operations[id]["kind"] != acts[id].kind:
            yield f"stored as {stored.operations[id]['kind']}: {acts[id]}"


def in_order(acts: list[Act], known: dict[str, Act], stored: Stored) -> tuple[list[Act], list[str]]:
    """
    The stored acts on one thing as they arrived, and where one does not build on the one before.

    That would mean that one tablet's act was written over another's without a person. What built on
    an act that a person gave up goes on from what its own tablet did last.
    """
    ordered = sorted(acts, key=lambda act: stored.operations[act.id]["order"])
    problems, before = [], None
    for act in ordered:
        base = known.get(act.base)
        is_left = base is not None and base.given_up and act.base not in stored.applied
        is_own = before is None or before.tablet == act.tablet
        last = before.id if before else None
        if act.base != last and not (is_left and is_own):
            problems.append(f"stored after {before}, which it does not build on: {act}")
        before = act
    return ordered, problems


def expected_points(acts: dict[str, Act], stored: Stored) -> tuple[dict[str, dict], list[str]]:
    """The points that the stored acts make, and what is wrong with the acts' order."""
    by_point: dict[str, list[Act]] = defaultdict(list)
    for id in stored.applied & acts.keys():
        kind, key = acts[id].thing
        if kind == "point":
            by_point[key].append(acts[id])
    points, problems = {}, []
    for key, about in by_point.items():
        ordered, broken = in_order(about, acts, stored)
        problems += broken
        if ordered[0].kind != "log":
            problems.append(f"the first act on point {key[:8]} is {ordered[0]}")
            continue
        points[key] = _folded(ordered)
    return points, problems


def _folded(ordered: list[Act]) -> dict:
    point = {"session": ordered[0].session, "removed": False}
    for act in ordered:
        if act.kind in {"log", "change"}:
            point |= {name: act.data[name] for name in CONTENT if name in act.data}
        elif act.kind == "move":
            point |= {name: act.data[name] for name in PLACE}
        else:
            point["removed"] = act.kind == "remove"
    return point


def _unlike(expected, stored):
    for key in expected.keys() | stored.points.keys():
        ours, theirs = expected.get(key), stored.points.get(key)
        if theirs is None:
            yield f"point {key[:8]} should be in the database and is not"
        elif ours is None:
            yield f"point {key[:8]} is in the database; no stored act made it"
        else:
            for name, value in ours.items():
                if theirs[name] != value:
                    yield f"point {key[:8]}: {name} is {theirs[name]!r}, should be {value!r}"


def _markings(acts, applied, stored):
    by_marking: dict[str, list[Act]] = defaultdict(list)
    for id in applied & acts.keys():
        kind, key = acts[id].thing
        if kind == "marking":
            by_marking[key].append(acts[id])
    for key in by_marking.keys() | stored.markings.keys():
        ordered, problems = in_order(by_marking.get(key, []), acts, stored)
        yield from problems
        removed = bool(ordered) and ordered[-1].kind == "unplan"
        if not ordered or key not in stored.markings:
            yield f"marking {key[:8]} is in the database or asked for, but not both"
        elif stored.markings[key] != removed:
            yield f"marking {key[:8]}: removed is {stored.markings[key]}, should be {removed}"


def _set_aside(acts, applied, stored):
    asked = {acts[id].session for id in applied & acts.keys() if acts[id].kind == "set_aside"}
    for key in asked ^ stored.set_aside:
        yield f"session {key[:8]} is set aside or was to be, but not both"
    for key, point in stored.points.items():
        if point["session"] in stored.set_aside:
            yield f"point {key[:8]} is in a session that was set aside"


# The audit trail's word for the effect of an operation: one event for each, no more.
EVENT_OF = {"log": "point.logged", "start": "session.started", "addendum": "addendum.written"}


def _counted(acts, applied, stored):
    done = Counter(acts[id].kind for id in applied & acts.keys())
    for kind, event in EVENT_OF.items():
        if stored.events[event] != done[kind]:
            yield f"{done[kind]} times {kind} stored, {stored.events[event]} times in the trail"


def _amounts(acts, applied, stored):
    drawn, waste = Counter(), defaultdict(list)
    for point in stored.points.values():
        if not point["removed"]:
            drawn[point["unit"]] += point["amount"]
    for id in applied & acts.keys():
        if acts[id].kind == "waste":
            waste[acts[id].data["unit"]].append(acts[id].data["amount"])
    for pk, unit in stored.units.items():
        if unit["drawn"] != drawn[pk]:
            yield f"unit {unit['label']}: {unit['drawn']} drawn, its points sum to {drawn[pk]}"
        if unit["ledger"] != drawn[pk]:
            yield (
                f"unit {unit['label']}: the ledger's draws sum to {unit['ledger']}, its points to "
                f"{drawn[pk]}"
            )
        if sorted(unit["waste"]) != sorted(waste[pk]):
            yield f"unit {unit['label']}: waste {unit['waste']} stored, {waste[pk]} asked for"


def _opened_in_quarantine(stored):
    """
    `stored.held`: what the trail says of stopping, releasing and opening, in the order in which it
    was committed: (action, "lot" or "unit", its number). Opening in spite of a quarantine with a
    written reason is none of them.
    """
    held: set[tuple[str, str]] = set()
    for action, kind, pk in stored.held:
        if action == "quarantined":
            held.add((kind, pk))
        elif action == "released":
            held.discard((kind, pk))
        elif (kind, pk) in held:
            yield f"{kind} {pk} was opened while it was in quarantine, and no reason is written"


def _on_tablet(tablet: Shown, stored: Stored):
    for pk, is_held in tablet.held.items():
        if is_held != stored.units[pk]["held"]:
            said = "in quarantine" if is_held else "free"
            label = stored.units[pk]["label"]
            yield f"{tablet.tablet} shows unit {label} as {said}, which is wrong"
    if tablet.waiting:
        kept = "; ".join(tablet.waiting[:5])
        yield f"{tablet.tablet} still keeps {len(tablet.waiting)}: {kept}"
    standing = {
        key: point
        for key, point in stored.points.items()
        if not point["removed"] and point["session"] in tablet.sessions
    }
    for key in standing.keys() | tablet.points.keys():
        ours, theirs = standing.get(key), tablet.points.get(key)
        if ours is None:
            yield f"{tablet.tablet} shows point {key[:8]}, which the clinic does not have"
        elif theirs is None:
            yield f"{tablet.tablet} does not show point {key[:8]} (session {ours['session'][:8]})"
        else:
            unlike = [name for name in CONTENT if ours[name] != theirs.get(name)]
            for name in unlike:
                yield (
                    f"{tablet.tablet} shows {name} {theirs.get(name)!r} for point {key[:8]}, "
                    f"the clinic has {ours[name]!r}"
                )
