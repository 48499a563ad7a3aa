"""Points from a tablet: stored once, in order, and never written over unseen."""

import uuid

import pytest

from clinic.audit.models import AuditEvent
from records.charting.models import Operation
from records.sessions.models import InjectionEntry
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import take_off_tray
from tests.factories import make_patient, make_point, make_session_with_unit, make_user, refreshed
from tests.records.charting.tablet import Tablet, open_data, point_data


def logged(tablet, session, unit, **fields) -> dict:
    """A point that is stored: its operation."""
    op = tablet.op("log", session, point_data(unit, **fields))
    assert tablet.outcomes(op) == ["applied"]
    return op


def test_point_is_stored_with_its_operation(tablet, session, units, injector):
    op = logged(tablet, session, units[0], technique="fanning", reach_x_dmm=0, reach_y_dmm=300)
    point, row = InjectionEntry.objects.get(), Operation.objects.get()
    assert (str(point.key), point.amount, point.logged_by) == (op["data"]["key"], 200, injector)
    assert (point.reach_x_dmm, point.reach_y_dmm) == (0, 300)
    assert (str(point.head), str(row.id), row.session) == (op["id"], op["id"], session)
    assert (row.device, row.outcome, row.author) == (tablet.device, "applied", injector)
    assert refreshed(units[0]).drawn == 200


def test_same_operation_again_is_applied_again_and_changes_nothing(tablet, session, units):
    op = logged(tablet, session, units[0])
    assert tablet.outcomes(op, op) == ["applied", "applied"]
    assert InjectionEntry.objects.count() == Operation.objects.count() == 1
    assert AuditEvent.objects.filter(action="point.logged").count() == 1


def test_replay_after_signing_learns_that_the_point_is_safe(tablet, session, units, injector):
    op = logged(tablet, session, units[0])
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    assert tablet.outcomes(op) == ["applied"]


@pytest.mark.parametrize("field", ["amount", "x_dmm"])
def test_same_id_with_other_content_is_refused(tablet, session, units, field):
    op = logged(tablet, session, units[0])
    changed = op | {"data": op["data"] | {field: 100}}
    result = tablet.only(changed)
    assert result["outcome"] == "refused"
    assert "sent before with other content" in result["message"]
    assert (refreshed(units[0]).drawn, InjectionEntry.objects.get().x_dmm) == (200, 500)


def test_another_sequence_or_sender_is_the_same_act(tablet, session, units):
    op = logged(tablet, session, units[0])
    assert tablet.outcomes(op | {"sequence": 99, "handed_over": True, "base": None}) == ["applied"]


def test_numbers_follow_the_order_of_arrival(tablet, session, units):
    ops = [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(3)]
    assert tablet.outcomes(*ops) == ["applied"] * 3
    keys = InjectionEntry.objects.order_by("number").values_list("key", flat=True)
    assert [str(key) for key in keys] == [op["data"]["key"] for op in ops]


def test_whole_life_of_a_point_in_one_request(tablet, session, units):
    log = tablet.op("log", session, point_data(units[0]))
    key = {"key": log["data"]["key"]}
    more = point_data(units[0], amount=300, **key)
    change = tablet.op("change", session, more, base=log["id"])
    place = {"x_dmm": 0, "y_dmm": 1000, "reach_x_dmm": None, "reach_y_dmm": None}
    move = tablet.op("move", session, key | place, base=change["id"])
    remove = tablet.op("remove", session, key, base=move["id"])
    restore = tablet.op("restore", session, key, base=remove["id"])
    assert tablet.outcomes(log, change, move, remove, restore) == ["applied"] * 5
    point = InjectionEntry.objects.get()
    assert (point.amount, point.region, point.removed_at) == (300, "mental", None)
    assert str(point.head) == restore["id"]
    assert refreshed(units[0]).drawn == 300
    actions = AuditEvent.objects.filter(subject_type="injectionentry").order_by("id")
    assert [event.action for event in actions] == [
        "point.logged", "point.changed", "point.moved", "point.removed", "point.restored"
    ]  # fmt: skip


def test_removing_what_is_removed_keeps_the_chain(tablet, session, units):
    log = logged(tablet, session, units[0])
    key = {"key": log["data"]["key"]}
    first = tablet.op("remove", session, key, base=log["id"])
    again = tablet.op("remove", session, key, base=first["id"])
    back = tablet.op("restore", session, key, base=again["id"])
    twice = tablet.op("restore", session, key, base=back["id"])
    assert tablet.outcomes(first, again, back, twice) == ["applied"] * 4
    assert refreshed(units[0]).drawn == 200


def test_change_before_its_point_is_held_until_it_arrives(tablet, session, units):
    log = tablet.op("log", session, point_data(units[0]))
    change = tablet.op("change", session, log["data"] | {"amount": 300}, base=log["id"])
    assert tablet.outcomes(change) == ["hold"]
    assert tablet.outcomes(log) == ["applied"]
    assert tablet.outcomes(change) == ["applied"]
    assert InjectionEntry.objects.get().amount == 300


def test_held_refused_and_conflicting_operations_leave_no_row(tablet, session, units):
    change = tablet.op("change", session, point_data(units[0]), base=str(uuid.uuid4()))
    refused = tablet.op("log", session, point_data(units[0], plane="sideways"))
    assert tablet.outcomes(change, refused) == ["hold", "refused"]
    assert not Operation.objects.exists()


def test_two_tablets_on_one_point_let_a_person_choose(tablet, other_tablet, session, units):
    log = logged(tablet, session, units[0])
    theirs = other_tablet.op("change", session, log["data"] | {"amount": 350}, base=log["id"])
    assert other_tablet.outcomes(theirs) == ["applied"]
    mine = tablet.op("change", session, log["data"] | {"amount": 300}, base=log["id"])
    result = tablet.only(mine)
    assert result["outcome"] == "conflict"
    conflict = result["conflict"]
    assert conflict["about"] == "point"
    assert "0.3 mL" in conflict["here"]
    assert "point 1: Zygomatic region, left, 0.35 mL" in conflict["there"]
    assert "Ida Injector" in conflict["there"]
    assert [choice["act"] for choice in conflict["choices"]] == ["again", "drop"]
    assert InjectionEntry.objects.get().amount == 350
    again = tablet.op("change", session, mine["data"], base=theirs["id"])
    assert tablet.outcomes(again) == ["applied"]
    assert InjectionEntry.objects.get().amount == 300


@pytest.mark.parametrize("kind", ["move", "remove", "restore"])
def test_every_act_on_a_point_meets_the_other_tablets(tablet, other_tablet, session, units, kind):
    log = logged(tablet, session, units[0])
    theirs = other_tablet.op("remove", session, {"key": log["data"]["key"]}, base=log["id"])
    assert other_tablet.outcomes(theirs) == ["applied"]
    data = {"key": log["data"]["key"], "x_dmm": 505, "y_dmm": 330}
    result = tablet.only(tablet.op(kind, session, data, base=log["id"]))
    assert result["outcome"] == "conflict"
    assert "(removed)" in result["conflict"]["there"]


def test_given_up_operation_is_answered_so_when_it_arrives_late(tablet, session, units):
    log = tablet.op("log", session, point_data(units[0]))
    give_up = tablet.op("withdraw", session, {"operation": log["id"]})
    assert tablet.outcomes(give_up) == ["applied"]
    assert tablet.outcomes(log, give_up) == ["withdrawn", "applied"]
    assert not InjectionEntry.objects.exists()


def test_what_is_stored_cannot_be_given_up(tablet, session, units):
    log = logged(tablet, session, units[0])
    result = tablet.only(tablet.op("withdraw", session, {"operation": log["id"]}))
    assert result["outcome"] == "refused"
    assert "stored already" in result["message"]


def test_act_that_gives_itself_up_keeps_no_other_from_being_stored(tablet, session, units):
    log = tablet.op("log", session, point_data(units[0]))
    itself = tablet.op("withdraw", session, {})
    itself["data"]["operation"] = itself["id"]
    assert tablet.outcomes(log, itself) == ["applied", "refused"]


def test_act_that_builds_on_a_given_up_one_goes_on_from_what_is_there(tablet, session, units):
    log = logged(tablet, session, units[0])
    too_much = tablet.op("change", session, log["data"] | {"amount": 1001}, base=log["id"])
    place = {"key": log["data"]["key"], "x_dmm": 505, "y_dmm": 330}
    move = tablet.op("move", session, place, base=too_much["id"])
    assert tablet.outcomes(too_much, move) == ["refused", "hold"]
    give_up = tablet.op("withdraw", session, {"operation": too_much["id"]})
    assert tablet.outcomes(give_up, move) == ["applied", "applied"]
    point = InjectionEntry.objects.get()
    assert (point.x_dmm, point.amount) == (505, 200)


def test_change_of_a_point_that_was_given_up_is_refused(tablet, session, units):
    log = tablet.op("log", session, point_data(units[0]))
    tablet.only(tablet.op("withdraw", session, {"operation": log["id"]}))
    change = tablet.op("change", session, log["data"], base=log["id"])
    assert tablet.only(change)["outcome"] == "refused"


def test_overdrawing_is_refused_with_ways_out(tablet, session, units):
    result = tablet.only(tablet.op("log", session, point_data(units[0], amount=1001)))
    assert result["outcome"] == "refused"
    assert "1 mL remain in unit" in result["message"]
    acts = [choice["act"] for choice in result["conflict"]["choices"]]
    assert acts == ["edit", "other_unit", "drop"]


def test_restoring_what_no_longer_fits_is_refused(tablet, session, units):
    log = logged(tablet, session, units[0], amount=600)
    remove = tablet.op("remove", session, {"key": log["data"]["key"]}, base=log["id"])
    assert tablet.outcomes(remove) == ["applied"]
    logged(tablet, session, units[0], amount=500)
    restore = tablet.op("restore", session, {"key": log["data"]["key"]}, base=remove["id"])
    result = tablet.only(restore)
    assert result["outcome"] == "refused"
    # It names no unit and no amount that a person could change.
    assert result["conflict"] is None
    assert refreshed(units[0]).drawn == 500


def test_one_refused_operation_leaves_the_others_of_its_request(tablet, session, units):
    good = [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(2)]
    bad = tablet.op("log", session, point_data(units[0], x_dmm=2900))
    result = tablet.send(good[0], bad, good[1])["results"]
    assert [row["outcome"] for row in result] == ["applied", "refused", "applied"]
    assert "not on the face" in result[1]["message"]
    assert AuditEvent.objects.filter(action="point.logged").count() == 2


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"amount": None}, "Type the amount."),
        ({"amount": "lots"}, "whole number"),
        ({"amount": -1}, "greater than or equal to 1"),
        ({"amount": 0.2}, "whole number"),
        ({"amount": 2_000}, "1 mL remain in unit"),
        ({"plane": ""}, "Choose the plane."),
        ({"plane": "sideways"}, "“sideways” is not a plane"),
        ({"unit": None}, "Open a unit first"),
        ({"unit": 999_999}, "no such unit"),
        ({"unit": "none"}, "whole number"),
        ({"unit": 10**30}, "less than or equal"),
        ({"key": "1"}, "valid UUID"),
        ({"key": None}, "required"),
        ({"x_dmm": 2900}, "not on the face"),
        ({"y_dmm": 99_999}, "less than or equal"),
        ({"region": "moon"}, "“moon” is not a region"),
        ({"gauge": 99}, "less than or equal"),
        ({"reach_x_dmm": 10}, "needs both places"),
        ({"deviation": "x" * 301}, "at most 300"),
        ({"deviation": "a\x00b"}, "Null characters"),
        ({"view": "picture", "picture": None}, "photograph"),
        ({"view": ["front"]}, "not of the kind"),
    ],
)
def test_bad_value_is_answered_with_a_sentence(tablet, session, units, fields, sentence):
    result = tablet.only(tablet.op("log", session, point_data(units[0]) | fields))
    assert (result["outcome"], sentence in result["message"]) == ("refused", True), result
    assert not InjectionEntry.objects.exists()


def test_point_waits_for_its_unsettled_opening(tablet, session, units):
    point = tablet.op("log", session, point_data(units[1]))
    opening = tablet.op("open", session, open_data(units[1]), base=str(uuid.uuid4()))
    assert tablet.outcomes(opening, point) == ["hold", "hold"]
    assert tablet.outcomes(opening | {"base": None}, point) == ["applied", "applied"]


def test_point_from_a_unit_another_tablet_took_away_lets_a_person_choose(
    tablet, session, units, injector
):
    take_off_tray(session=session, unit=refreshed(units[0]), actor=injector)
    result = tablet.only(tablet.op("log", session, point_data(units[0])))
    assert result["outcome"] == "conflict"
    assert result["conflict"]["about"] == "unit"
    acts = [choice["act"] for choice in result["conflict"]["choices"]]
    assert acts == ["again", "other_unit", "drop"]


def test_point_from_a_unit_that_nobody_opened_lets_a_person_choose(tablet, session, units):
    """Done again after its unit's opening was given up, it waited for ever without a word."""
    point = make_point(session, units[0])
    change = tablet.op("change", session, point_data(units[1]) | {"key": str(point.key)})
    log = tablet.op("log", session, point_data(units[1]))
    for result in tablet.send(change, log)["results"]:
        assert result["outcome"] == "conflict"
        acts = [choice["act"] for choice in result["conflict"]["choices"]]
        assert acts == ["again", "other_unit", "drop"]


def test_only_the_injector_of_a_session_writes_in_it(session, units):
    colleague = Tablet(make_user("second", is_injector=True))
    result = colleague.only(colleague.op("log", session, point_data(units[0])))
    assert result["outcome"] == "refused"
    assert "Only Ida Injector" in result["message"]
    assert not InjectionEntry.objects.exists()


def test_operation_of_somebody_else_needs_to_be_handed_over(session, units, injector):
    colleague = Tablet(make_user("second", is_injector=True))
    op = colleague.op("log", session, point_data(units[0]), author=injector.pk)
    assert "must sign in on this tablet" in colleague.only(op)["message"]
    assert colleague.outcomes(op | {"handed_over": True}) == ["applied"]
    point, row = InjectionEntry.objects.get(), Operation.objects.get()
    assert point.logged_by == colleague.user
    assert (row.author, row.sent_by, row.handed_over) == (injector, colleague.user, True)
    event = AuditEvent.objects.get(action="operation.handed_over")
    assert (event.actor, event.patient_id) == (colleague.user, session.patient_id)
    assert f'"author":{injector.pk}' in event.data


def test_operation_of_nobody_is_refused(tablet, session, units, owner):
    for author in (owner.pk, 999_999):
        op = tablet.op("log", session, point_data(units[0]), author=author, handed_over=True)
        assert tablet.only(op)["outcome"] == "refused"


def test_point_of_a_session_that_is_on_its_way_is_held(tablet, units):
    assert tablet.outcomes(tablet.op("log", uuid.uuid4(), point_data(units[0]))) == ["hold"]


def test_session_signed_meanwhile_lets_a_person_write_an_addendum(tablet, session, units, injector):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    result = tablet.only(tablet.op("log", session, point_data(units[0])))
    assert result["outcome"] == "conflict"
    assert result["conflict"]["about"] == "session"
    assert "signed by Ida Injector" in result["conflict"]["there"]
    assert [way["act"] for way in result["conflict"]["choices"]] == ["addendum", "drop"]


def test_markings_are_planned_taken_away_and_ticked_off(tablet, session, units):
    data = {"key": str(uuid.uuid4()), "view": "front", "x_dmm": 500, "y_dmm": 330,
            "region": "", "side": ""}  # fmt: skip
    plan = tablet.op("plan", session, data)
    unplan = tablet.op("unplan", session, {"key": data["key"]}, base=plan["id"])
    replan = tablet.op("replan", session, {"key": data["key"]}, base=unplan["id"])
    log = tablet.op("log", session, point_data(units[0], marking=data["key"]))
    assert tablet.outcomes(plan, plan, unplan, replan, log) == ["applied"] * 5
    marking = session.markings.get()
    assert (marking.region, marking.side, marking.removed_at) == ("zygomatic", "left", None)
    gone = tablet.only(tablet.op("unplan", session, {"key": data["key"]}, base=replan["id"]))
    assert "A point was given at this marking" in gone["message"]


def test_point_for_a_marking_that_is_on_its_way_is_held(tablet, session, units):
    op = tablet.op("log", session, point_data(units[0], marking=str(uuid.uuid4())))
    assert tablet.outcomes(op) == ["hold"]


def test_two_sessions_in_one_request(tablet, session, units, injector, desk):
    second = make_session_with_unit(injector, make_patient(desk, "Bo Li"), units[1])
    ops = [
        tablet.op("log", session, point_data(units[0])),
        tablet.op("log", second, point_data(units[1])),
    ]
    assert tablet.outcomes(*ops) == ["applied", "applied"]
    assert [session.points.count(), second.points.count()] == [1, 1]
