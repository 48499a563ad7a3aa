"""Anaesthesia and confirmed amounts from a tablet."""

import uuid

import pytest

from records.sessions.models import Anaesthesia, InjectionEntry
from tests.records.charting.tablet import open_data, point_data


def cream(**fields) -> dict:
    return {
        "key": str(uuid.uuid4()), "method": "topical", "product": "Cream 5 %",
        "lidocaine_ug_per_ml": 50_000, "with_epinephrine": False, "volume_ul": 2_000, **fields,
    }  # fmt: skip


def test_one_is_noted_removed_and_brought_back_once_each(tablet, session):
    data = cream()
    numb = tablet.op("numb", session, data)
    off = tablet.op("numb_off", session, {"key": data["key"]}, base=numb["id"])
    back = tablet.op("numb_back", session, {"key": data["key"]}, base=off["id"])
    assert tablet.outcomes(numb, numb, off, off, back) == ["applied"] * 5
    row = Anaesthesia.objects.get()
    assert (row.method, row.volume_ul, row.removed_at) == ("topical", 2_000, None)
    assert str(row.head) == back["id"]
    (told,) = tablet.send(wanted=[session])["sessions"][str(session.key)]["anaesthesia"]
    assert (told["key"], told["removed"], told["product"]) == (data["key"], False, "Cream 5 %")


def test_a_removal_waits_for_what_it_removes(tablet, session):
    off = tablet.op("numb_off", session, {"key": str(uuid.uuid4())}, base=str(uuid.uuid4()))
    assert tablet.only(off)["outcome"] == "hold"


def test_two_tablets_do_not_undo_each_other(tablet, session):
    data = cream()
    numb = tablet.op("numb", session, data)
    off = tablet.op("numb_off", session, {"key": data["key"]}, base=numb["id"])
    tablet.send(numb, off)
    stale = tablet.only(tablet.op("numb_back", session, {"key": data["key"]}, base=numb["id"]))
    assert stale["outcome"] == "conflict"
    assert "was removed" in stale["conflict"]["there"]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"method": "prayer"}, "is not a method"),
        ({"product": ""}, "Name the anaesthetic."),
        ({"lidocaine_ug_per_ml": None}, "Say how strong it is."),
        ({"volume_ul": None}, "Type the amount."),
        ({"volume_ul": 0}, "greater than or equal to 1"),
        ({"lidocaine_ug_per_ml": 1_000_001}, "less than or equal to 1000000"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(tablet, session, fields, message):
    result = tablet.only(tablet.op("numb", session, cream(**fields)))
    assert result["outcome"] == "refused"
    assert message in result["message"]
    assert not Anaesthesia.objects.exists()


def test_a_confirmed_amount_keeps_what_was_asked(tablet, session, units):
    asked = "Usual here: 0.02 mL; typed: 0.2 mL."
    data = point_data(units[0], confirmed_odd=asked)
    log = tablet.op("log", session, data)
    assert tablet.outcomes(log, log) == ["applied", "applied"]
    assert InjectionEntry.objects.get().confirmed_odd == asked
    change = tablet.op(
        "change", session, data | {"amount": 20, "confirmed_odd": ""}, base=log["id"]
    )
    assert tablet.only(change)["outcome"] == "applied"
    assert InjectionEntry.objects.get().confirmed_odd == ""


def test_a_tablet_that_does_not_ask_yet_is_understood(tablet, session, units):
    """Acts that waited since before there was a question name nothing confirmed."""
    data = point_data(units[0])
    data.pop("confirmed_odd", None)
    opened = open_data(units[1])
    opened.pop("confirmed_odd", None)
    assert tablet.outcomes(tablet.op("log", session, data), tablet.op("open", session, opened)) == [
        "applied",
        "applied",
    ]


def test_a_confirmed_diluent_keeps_what_was_asked(tablet, session, units):
    asked = "Usual here for this product: 2.5 mL; typed: 25 mL."
    opened = open_data(units[1]) | {"diluent_ul": 25_000, "confirmed_odd": asked}
    assert tablet.only(tablet.op("open", session, opened))["outcome"] == "applied"
    units[1].refresh_from_db()
    assert units[1].opening.confirmed_odd == asked
