"""Leaving a tablet, coming to one, and what another person left on it."""

import pytest

from tests.browser.charting.clinic import IDA, OLGA, POINT, said
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND = keys(2)
LEAVE = "(handOver) => app.leave({ handOver })"
DATABASES = "async () => (await indexedDB.databases()).map(({ name }) => name).sort()"
UNREADABLE = """() => {
    const getAll = IDBObjectStore.prototype.getAll;
    window.mend = () => { IDBObjectStore.prototype.getAll = getAll; };
    IDBObjectStore.prototype.getAll = function () {
        throw new DOMException("The disk cannot be read.", "UnknownError");
    };
}"""
# Everything the tablet's own database holds, as text.
KEPT = """async () => {
    const { TabletStore } = await import("/static/js/charting/store.js");
    const store = new TabletStore();
    const rows = await store.transact("readonly", ["kv", "handover"], (kv, handover) => {
        const requests = [kv.getAll(), kv.getAllKeys(), handover.getAll()];
        return () => JSON.stringify(requests.map(({ result }) => result));
    });
    await store.close();
    return rows;
}"""


def test_nothing_clinical_stays_after_leaving(tab, clinic, key):
    tab.log(key, FIRST)
    tab.flush()
    assert tab.run(LEAVE, False) == {"left": True, "waiting": 0}
    assert tab.run(DATABASES) == ["charting-tablet"]
    kept = tab.run(KEPT)
    assert "Ann Example" not in kept
    assert "Ida" not in kept
    assert tab.run("() => [app.user, app.day, app.sessionKeys.length, app.waiting.length]") == [
        None, None, 0, 0,
    ]  # fmt: skip


def test_what_waits_keeps_the_person_until_it_is_handed_over(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    refused = tab.run(LEAVE, False)
    assert (refused["left"], refused["waiting"]) == (False, 1)
    assert tab.points(key, "key") == [FIRST]
    assert tab.run(LEAVE, True)["left"] is True
    assert tab.run(DATABASES) == ["charting-tablet"]
    kept = tab.run(KEPT)
    assert FIRST in kept
    assert "Ann Example" not in kept


def test_nobody_leaves_a_tablet_whose_disk_cannot_be_read(tab, new_tab, clinic, key):
    """What waits there was unknown to the page, and went with the database."""
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.page.close()
    other = new_tab()
    other.page.add_init_script(f"({UNREADABLE})()")
    other.open()
    assert other.run(LEAVE, False)["left"] is False
    other.run("() => window.mend()")
    clinic.fault = ""
    other.flush()
    assert clinic.kinds() == ["log"]


def test_last_sending_before_leaving_may_empty_the_tablet(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    clinic.fault = ""
    assert tab.run(LEAVE, False) == {"left": True, "waiting": 0}
    assert clinic.kinds() == ["log"]


def test_handed_over_acts_go_out_in_their_authors_name(tab, new_tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.run(LEAVE, True)
    clinic.fault, clinic.user = "", OLGA
    other = new_tab().open()
    left = other.run(
        "() => app.handedOver.map(({ author, operations }) => [author.name, operations.length])"
    )
    assert (left, clinic.received) == ([["Ida Injector", 1]], [])
    assert other.run("() => app.takeOver()") == 1
    other.flush()
    assert [(op["author"], op["handed_over"]) for op in clinic.applied.values()] == [(1, True)]
    assert other.run("() => app.handedOver") == []
    assert "0000-4000" not in other.run(KEPT)


def test_one_persons_acts_never_go_in_anothers_name(tab, new_tab, clinic, key):
    """Her sign-in ran out, a colleague signed in; then she is back."""
    clinic.fault = "away"
    tab.log(key, FIRST)
    clinic.fault, clinic.user = "", OLGA
    tab.flush()
    assert tab.contact == "signed-out"
    tab.page.close()
    other = new_tab().open()
    assert other.run("() => [app.user.name, app.waiting.length]") == ["Olga Owner", 0]
    assert "charting-1" in other.run(DATABASES)
    other.page.close()
    assert [op for op in clinic.applied.values() if op["author"] == 2] == []
    clinic.user = {"id": 1, "name": "Ida Injector"}
    clinic.applied.clear()
    back = new_tab().open()
    assert (back.waits(), clinic.kinds()) == ([], ["log"])


def test_another_persons_empty_work_is_deleted_when_somebody_else_comes(tab, new_tab, clinic, key):
    tab.page.close()
    clinic.user = OLGA
    other = new_tab().open()
    assert other.run("() => app.user.name") == "Olga Owner"
    assert other.run(DATABASES) == ["charting-2", "charting-tablet"]


def test_leaving_empties_the_other_tabs(tab, new_tab, clinic, key):
    other = new_tab().open()
    tab.run(LEAVE, False)
    other.until("() => app.user === null && app.session(location.hash) === null")


def test_waiting_and_leaving_without_the_charting_screen(tab, new_tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.page.close()
    page = new_tab()
    page.page.goto("/charting/")
    script = """async (handOver) => {
        const { leaveTablet, waitingOnTablet } = await import("/static/js/charting/departure.js");
        const { count } = await waitingOnTablet();
        const { left } = await leaveTablet({ handOver });
        return [count, left];
    }"""
    assert page.run(script, False) == [1, False]
    assert page.run(script, True) == [1, True]
    assert page.run(script, True) == [0, True]
    assert page.run(DATABASES) == ["charting-tablet"]


def test_photograph_waits_on_the_tablet_and_holds_back_the_signature(tab, clinic, key):
    clinic.fault = "away"
    picture = tab.run(
        """async (key) => {
        const blob = new Blob(["x"], { type: "image/jpeg" });
        const found = app.keepPicture(key, blob, { width: 4, height: 3 });
        await app.flush();
        return found;
    }""",
        key,
    )
    tab.act("sign", key, {"remainders": {}, "proof": "00"})
    assert tab.waits() == [["picture", "tablet"], ["sign", "tablet"]]
    tab.open()
    assert [row["where"] for row in tab.state(key)["pictures"]] == ["tablet"]
    assert tab.run("(key) => app.pictureUrl(key)", picture).startswith("blob:")
    clinic.fault = ""
    tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["sign"])


def test_taken_over_twice_is_stored_once(tab, new_tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.log(key, SECOND, amount=POINT["amount"])
    tab.run(LEAVE, True)
    clinic.fault, clinic.user = "", OLGA
    one, two = new_tab().open(), new_tab().open()
    one.run("() => app.takeOver()")
    two.run("() => app.takeOver()")
    one.flush()
    two.flush()
    assert clinic.kinds() == ["log", "log"]


# Another tab's work, written without this tab having heard of it.
WRITE_UNHEARD = """async ([key, data]) => {
    const { newOperation, newRecord } = await import("/static/js/charting/operations.js");
    const said = { kind: "log", session: key, data, base: null, author: 1, sequence: 99 };
    const op = newOperation(said);
    await app.store.putOperations([newRecord(op)]);
}"""


def test_what_another_tab_wrote_is_handed_over_too(tab, clinic, key):
    clinic.fault = "away"
    tab.run(WRITE_UNHEARD, [key, POINT | {"key": FIRST}])
    assert tab.run(LEAVE, False)["waiting"] == 1
    tab.run(WRITE_UNHEARD, [key, POINT | {"key": SECOND}])
    assert tab.run(LEAVE, True) == {"left": True, "waiting": 2}
    kept = tab.run(KEPT)
    assert FIRST in kept
    assert SECOND in kept


@pytest.mark.parametrize("left", ["operation", "photograph"])
def test_somebody_elses_coming_deletes_nothing_that_waits(tab, clinic, key, left):
    clinic.fault = "away"
    if left == "operation":
        tab.run(WRITE_UNHEARD, [key, POINT | {"key": FIRST}])
    else:
        tab.run(
            """async (key) => {
            const blob = new Blob(["x"], { type: "image/jpeg" });
            app.keepPicture(key, blob, { width: 4, height: 3 });
            await app.flush();
        }""",
            key,
        )
    tab.run("() => app.become({ id: 2, name: 'Olga Owner' })")
    assert "charting-1" in tab.run(DATABASES)


LEFT = "() => app.handedOver.map(({ author, operations }) => [author.name, operations.length])"


def test_what_its_author_has_to_decide_waits_for_them(tab, new_tab, clinic, key):
    """A colleague took it over and could neither see nor settle it."""
    clinic.fault = "away"
    refused = tab.log(key, FIRST, amount=5000)
    tab.log(key, SECOND)
    clinic.refusals[refused["id"]] = said(refused, "refused", "More than remains.")
    tab.run(LEAVE, True)
    clinic.fault, clinic.user = "", OLGA
    other = new_tab().open()
    other.run("() => app.takeOver()")
    other.flush()
    other.until("() => app.handedOver.length === 1")
    assert (other.waits(), clinic.kinds()) == ([], ["log"])
    assert other.run(LEFT) == [["Ida Injector", 1]]
    other.run("() => app.takeOver()")
    assert other.run(LEFT) == [["Ida Injector", 1]]
    other.page.close()
    clinic.user = IDA
    back = new_tab().open()
    back.run("() => app.takeOver()")
    assert back.waits() == [["log", "refused"]]
    assert back.run(LEFT) == []
