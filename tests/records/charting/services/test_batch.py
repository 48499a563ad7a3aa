"""A batch that fits as a whole ends as the same acts one by one, each in its own savepoint."""

import uuid
from collections.abc import Callable
from datetime import datetime

import pytest
from django.db import transaction

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.stock.models import StockMovement, UnitOfStock
from records.charting.enums import Kind
from records.charting.models import Operation
from records.charting.services import batch
from records.occlusions.models import Occlusion, OcclusionEntry
from records.reviews.models import Review
from records.sessions.models import (
    Addendum,
    InjectionEntry,
    Marking,
    SessionPicture,
    SessionUnit,
    TreatmentSession,
)
from records.sessions.services.signing import sign_session
from records.time_out.enums import Item
from tests.factories import make_patient, make_picture, make_session
from tests.records.charting.tablet import open_data, point_data, sign_op, start_op

# Numbers that the database gives, and what tells of them or of the moment.
OF_THE_RUN = {
    "id", "session_id", "occlusion_id", "marking_id", "subject_id", "data", "skew_ms",
    "signed_digest", "digest", "previous_digest",
}  # fmt: skip
STORED = (
    Operation.objects.order_by("sequence", "kind"), TreatmentSession.objects.order_by("key"),
    InjectionEntry.objects.order_by("key"), Marking.objects.order_by("key"),
    SessionPicture.objects.order_by("key"), SessionUnit.objects.order_by("unit"),
    UnitOfStock.objects.order_by("pk"), StockMovement.objects.order_by("pk"),
    Occlusion.objects.order_by("pk"), OcclusionEntry.objects.order_by("pk"),
    Addendum.objects.order_by("pk"), Review.objects.order_by("pk"),
    AuditEvent.objects.order_by("id"),
)  # fmt: skip


def stored() -> list[list[dict]]:
    """What the database holds, but for OF_THE_RUN; of a moment, that there is one."""
    return [[_alike(row) for row in rows.all().values()] for rows in STORED]


def _alike(row: dict) -> dict:
    return {
        name: "a moment" if isinstance(value, datetime) else value
        for name, value in row.items()
        if name not in OF_THE_RUN
    }


class Undone(Exception):
    """The database is as before."""


def outcome_of(send: Callable[[], list[str]]) -> tuple[list[str], list[list[dict]]]:
    """What was answered and stored; then it is taken back."""
    try:
        with transaction.atomic():
            outcomes = send()
            assert verify_chain().intact
            found = stored()
            raise Undone
    except Undone:
        return outcomes, found


def forbidden(*_):
    raise AssertionError("the other way was taken")


@pytest.fixture
def without(monkeypatch):
    """As `outcome_of`, with one way barred: "_hoped" (at once) or "_result" (with care)."""

    def sent(way: str, send: Callable[[], list[str]]) -> tuple[list[str], list[list[dict]]]:
        with monkeypatch.context() as patch:
            patch.setattr(batch, way, forbidden)
            return outcome_of(send)

    return sent


@pytest.fixture
def signed(injector, patient):
    session = make_session(injector, make_patient(injector, "Signed Already"))
    return sign_session(session=session, remainders={}, actor=injector)


@pytest.fixture
def of_every_kind(tablet, session, signed, injector, units, code) -> list[dict]:
    """A session from its start to its signature, beside three others."""
    filler, spare, not_used = units
    picture = make_picture(session)
    first, second = (point_data(filler, amount=100) for _ in range(2))
    place = {"key": str(uuid.uuid4()), "view": "front", "x_dmm": 500, "y_dmm": 330,
             "region": "", "side": ""}  # fmt: skip
    wrong = start_op(tablet, make_patient(injector, "Wrong Row"))
    right = start_op(tablet, make_patient(injector, "Right Row"))
    sent = [wrong, tablet.op("set_aside", wrong["session"], {}, base=wrong["id"]), right]

    def then(kind: str, data: dict, base: dict | None = None, key=right["session"]) -> dict:
        op = tablet.op(kind, key, data, base=base and base["id"])
        sent.append(op)
        return op

    opened = then("open", open_data(spare), right)
    opened = then("open", open_data(not_used), opened)
    opened = then("put_back", {"unit": not_used.pk}, opened)
    wasted = then("waste", {"unit": spare.pk, "amount": 10, "reason": "Primed"}, opened)
    noted = then("edit", {"note": "Calm", "jaw": "broader"}, wasted)
    marked = then("plan", place)
    unmarked = then("unplan", {"key": place["key"]}, marked)
    then("replan", {"key": place["key"]}, unmarked)
    cream = {"key": str(uuid.uuid4()), "method": "topical", "product": "Cream", "volume_ul": 2_000,
             "lidocaine_ug_per_ml": 50_000, "with_epinephrine": False}  # fmt: skip
    numbed = then("numb", cream)
    numbed = then("numb_off", {"key": cream["key"]}, numbed)
    then("numb_back", {"key": cream["key"]}, numbed)
    checks = [{"item": item.value, "is_confirmed": True} for item in Item]
    then("time_out", {"key": str(uuid.uuid4()), "checks": checks})
    then("decide", {"key": str(uuid.uuid4()), "gate": "age", "title": "Too young.", "reason": "So"})
    own = [point_data(spare, amount=50, marking=place["key"]), point_data(spare, amount=60)]
    log, _ = (then("log", data) for data in own)
    moved = {name: own[0][name] for name in ("key", "reach_x_dmm", "reach_y_dmm")}
    move = then("move", moved | {"x_dmm": 480, "y_dmm": 300}, log)
    change = then("change", own[0] | {"amount": 70}, move)
    remove = then("remove", {"key": own[0]["key"]}, change)
    then("restore", {"key": own[0]["key"]}, remove)
    alarm = then("occlude", {"key": str(uuid.uuid4()), "protocol": None})
    line = {"key": str(uuid.uuid4()), "occlusion": alarm["data"]["key"], "what": "pain", "pain": 7}
    then("occlusion_note", line)
    # Another session in between, with points before and after.
    then("log", first, key=session.key)
    then("log", second, key=session.key)
    then("waste", {"unit": filler.pk, "amount": 5, "reason": "A drop"}, key=session.key)
    scale = {"x1": 336, "y1": 240, "x2": 464, "y2": 240, "distance_dmm": 617, "on_pupils": True}
    scaled = then("calibrate", {"key": str(picture.key), **scale}, key=session.key)
    then("drop_picture", {"key": str(picture.key)}, scaled, key=session.key)
    then("withdraw", {"operation": str(uuid.uuid4())}, key=session.key)
    then("addendum", {"reason": "Forgotten", "text": "Cooled.", "point": None}, key=signed.key)
    sent.append(sign_op(tablet, right["session"], {spare.pk: "wasted"}, base=noted["id"]))
    return sent


def test_every_kind_ends_alike_on_both_ways(tablet, of_every_kind, without):
    assert {op["kind"] for op in of_every_kind} == set(Kind)
    outcomes, found = without("_result", lambda: tablet.outcomes(*of_every_kind))
    assert outcomes == ["applied"] * len(of_every_kind)
    assert len(found[0]) == len(of_every_kind) + 1  # the act that was given up before it came
    assert without("_hoped", lambda: tablet.outcomes(*of_every_kind)) == (outcomes, found)


@pytest.mark.parametrize(
    ("order", "outcomes"),
    [
        (["log", "log"], ["applied"] * 2),
        (["stored", "log"], ["applied"] * 2),
        (["stored", "move stored", "log"], ["applied"] * 3),
        (["other content", "log"], ["refused", "applied"]),
        (["move", "log"], ["hold", "applied"]),
        (["log", "too much", "move"], ["applied", "refused", "applied"]),
        (["withdraw", "log", "move"], ["applied", "withdrawn", "refused"]),
        (["log", "withdraw", "move"], ["applied", "refused", "applied"]),
        (["withdraw stored", "log"], ["refused", "applied"]),
        (["log", "same point", "move"], ["applied"] * 3),
    ],
)
def test_what_does_not_fit_as_a_whole_ends_as_one_by_one(
    tablet, session, units, without, order, outcomes
):
    data, was = (point_data(units[0], amount=100) for _ in range(2))
    log, stored_log = (tablet.op("log", session, fields) for fields in (data, was))
    place = {"x_dmm": 480, "y_dmm": 300, "reach_x_dmm": None, "reach_y_dmm": None}
    move = {"base": log["id"], "data": place | {"key": data["key"]}}
    move_stored = {"base": stored_log["id"], "data": place | {"key": was["key"]}}
    acts = {
        "log": log,
        "stored": stored_log,
        "other content": stored_log | {"data": was | {"amount": 150}},
        "move": tablet.op("move", session, **move),
        "move stored": tablet.op("move", session, **move_stored),
        "too much": tablet.op("log", session, point_data(units[0], amount=950)),
        "withdraw": tablet.op("withdraw", session, {"operation": log["id"]}),
        "withdraw stored": tablet.op("withdraw", session, {"operation": stored_log["id"]}),
        "same point": tablet.op("log", session, data),
    }
    tablet.send(stored_log)
    sent = [acts[name] for name in order]
    found = outcome_of(lambda: tablet.outcomes(*sent))
    assert found[0] == outcomes
    assert found == without("_hoped", lambda: tablet.outcomes(*sent))
