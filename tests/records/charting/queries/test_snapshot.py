"""Several sessions told of at once, each as if it were alone."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from records.charting.queries.snapshot import own_sessions, snapshots
from records.sessions.services.signing import sign_session
from tests.factories import (
    consented,
    make_anaesthetic,
    make_closure,
    make_patient,
    make_picture,
    make_plan,
    make_point,
    make_product,
    make_quarantine,
    make_reported_care,
    make_session,
    make_session_with_unit,
    make_units,
)
from tests.records.charting.tablet import Tablet, open_data, point_data

pytestmark = pytest.mark.django_db


def told_of(injector, *sessions) -> list[dict]:
    """As they are stored now, but for the moment of telling."""
    told = snapshots(own_sessions([one.key for one in sessions], injector), injector)
    return [{**told[str(one.key)], "checked_at": None} for one in sessions]


def flags_in(row: dict) -> list[str]:
    return [flag["title"] for flag in row["flags"]]


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=4)


@pytest.fixture
def before(injector, patient, units):
    """Signed today, with care elsewhere that was told of later."""
    session = make_session_with_unit(injector, consented(injector, patient), units[0])
    make_point(session, units[0], amount=100)
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    make_reported_care(injector, patient, day=timezone.localdate())
    return session


@pytest.fixture
def planned(injector, owner, patient, before, units):
    """The patient's next one: of a plan, with a quarantined syringe, numbed and photographed."""
    make_plan(injector, patient, units[0].lot.product)
    session = make_session_with_unit(injector, patient, units[1])
    make_picture(session)
    make_point(session, units[1], amount=250)
    make_anaesthetic(session)
    make_quarantine(owner, units[0].lot.product)
    return session


@pytest.fixture
def slow(injector, owner, desk):
    """Of a toxin, by a tablet whose clock is ten minutes behind."""
    (vial,) = make_units(owner, make_product("Toxin", kind="toxin"), number="T1", quantity=1)
    session = make_session(injector, consented(injector, make_patient(desk, "Bo Li")))
    tablet = Tablet(injector, slow_by=timedelta(minutes=10))
    opened = tablet.op("open", session, open_data(vial, diluent_ul=2500))
    logged = tablet.op("log", session, point_data(vial, amount=400))
    assert tablet.outcomes(opened, logged) == ["applied", "applied"]
    return session


@pytest.fixture
def empty(injector, desk):
    return make_session(injector, consented(injector, make_patient(desk, "Cy Empty")))


def test_each_of_several_is_told_as_if_it_were_alone(injector, owner, before, planned, slow, empty):
    make_closure(owner, starts_on=timezone.localdate(), ends_on=timezone.localdate())
    sessions = [before, planned, slow, empty]
    alone = [told for one in sessions for told in told_of(injector, one)]
    assert told_of(injector, *sessions) == alone


def test_what_is_around_one_of_them_is_told_of_no_other(injector, before, planned, slow, empty):
    signed, second, late, nothing = told_of(injector, before, planned, slow, empty)
    assert second["flags"][0]["label"] == "Quarantine"
    assert not any("quarantine" in title for title in flags_in(signed) + flags_in(late))
    assert late["flags"][0]["title"].startswith("The tablet's clock was 10 minutes off: behind")
    assert not any("clock" in title for title in flags_in(second))
    assert [row["last"] and len(row["last"]["points"]) for row in (signed, second, late)] == [
        None, 1, None,
    ]  # fmt: skip
    assert [bool(row["plan"]) for row in (signed, second, late)] == [False, True, False]
    assert [len(row["pictures"]) for row in (signed, second, late)] == [0, 1, 0]
    assert [bool(row["review"]) for row in (signed, second, late)] == [True, True, True]
    assert (nothing["flags"], nothing["points"], nothing["tray"]) == ([], [], [])
    assert (nothing["review"], nothing["last"], nothing["plan"]) == ("", None, None)


def test_several_take_the_queries_of_one(injector, before, planned, slow, empty):
    def queries_of(*sessions) -> int:
        with CaptureQueriesContext(connection) as queries:
            told_of(injector, *sessions)
        return len(queries)

    one = queries_of(planned)
    assert queries_of(planned, before, slow, empty) == one


def test_what_another_tablet_brings_while_it_is_read_counts_as_unseen(injector, slow):
    """A signature names the moment of the telling as what the signer had seen."""
    moments = []

    def timed(execute, *asked):
        moments.append(timezone.now())
        return execute(*asked)

    with connection.execute_wrapper(timed):
        (told,) = snapshots([slow], injector).values()
    assert told["checked_at"] <= moments[0]
