"""Several tabs, a full disk, a browser without the newer means."""

import pytest

from tests.browser.charting.clinic import POINT, said
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND, THIRD, FOURTH = keys(4)
FULL = """() => {
    const put = IDBObjectStore.prototype.put;
    window.makeRoom = () => { IDBObjectStore.prototype.put = put; };
    IDBObjectStore.prototype.put = function () {
        throw new DOMException("The disk is full.", "QuotaExceededError");
    };
}"""
# One transaction over everything, kept open by asking it again and again.
HUNG = """async () => {
    const db = await app.store.open();
    const names = [...db.objectStoreNames];
    const store = db.transaction(names, "readwrite").objectStore(names[0]);
    window.hung = true;
    app.store.patience = 500;
    const ask = () => {
        if (window.hung) {
            store.count().onsuccess = ask;
        }
    };
    ask();
}"""
# As on plain http with a name of the clinic's own network.
WITHOUT = """() => {
    Object.defineProperty(crypto, "randomUUID", { value: undefined });
    Object.defineProperty(navigator, "locks", { value: undefined });
    Object.defineProperty(window, "caches", { value: undefined });
    Object.defineProperty(window, "isSecureContext", { value: false });
}"""


def test_two_tabs_show_each_others_acts_and_send_each_once(tab, new_tab, clinic, key):
    other = new_tab().open()
    clinic.fault = "away"
    tab.log(key, FIRST)
    other.until(
        "([key, point]) => app.session(key).points.some((row) => row.key === point)", [key, FIRST]
    )
    other.log(key, SECOND)
    tab.until(
        "([key, point]) => app.session(key).points.some((row) => row.key === point)", [key, SECOND]
    )
    assert tab.points(key, "key") == other.points(key, "key") == [FIRST, SECOND]
    clinic.fault = ""
    tab.flush()
    other.until("() => app.waiting.length === 0")
    assert (tab.waits(), clinic.kinds()) == ([], ["log", "log"])
    assert other.points(key, "where") == ["clinic", "clinic"]


def test_a_tab_waits_with_sending_until_another_has_sent(tab, new_tab, clinic, key):
    other = new_tab().open()
    other.run("""() => {
        navigator.locks.request("charting-sync", () => new Promise((go) => { window.letGo = go; }));
    }""")
    other.until("() => Boolean(window.letGo)")
    tab.log(key, FIRST)
    tab.until("""async () => (await navigator.locks.query()).pending.some(
        ({ name }) => name === "charting-sync")""")
    assert clinic.kinds() == []
    other.run("() => window.letGo()")
    tab.until("() => app.waiting.length === 0")
    assert clinic.kinds() == ["log"]


def test_acts_of_two_tabs_in_one_moment_have_sequences_of_their_own(tab, new_tab, clinic, key):
    other = new_tab().open()
    clinic.fault = "away"
    points = list(keys(40))
    script = """([key, data, points]) => points.forEach(
        (point) => app.act("log", key, { ...data, key: point, amount: 1 }))"""
    tab.run(script, [key, POINT, points[:20]])
    other.run(script, [key, POINT, points[20:]])
    tab.run("() => app.queue.write()")
    other.run("() => app.queue.write()")
    tab.until("() => app.waiting.length === 40")
    sequences = [row["op"]["sequence"] for row in tab.waiting]
    assert len(set(sequences)) == 40
    clinic.fault = ""
    tab.flush()
    assert len(clinic.applied) == 40
    assert [op["sequence"] for op in clinic.applied.values()] == sorted(sequences)


def test_tab_closed_before_sending_leaves_its_acts_to_the_next(tab, new_tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.page.close()
    clinic.fault = ""
    other = new_tab().open()
    assert (other.waits(), clinic.kinds()) == ([], ["log"])


@pytest.mark.parametrize("contact", ["", "away"])
def test_full_disk_loses_nothing_and_says_so(tab, clinic, key, contact):
    clinic.fault = "away"
    tab.run(FULL)
    tab.log(key, FIRST)
    assert tab.points(key, "where") == ["memory"]
    assert tab.waits() == [["log", "memory"]]
    clinic.fault = contact
    tab.flush()
    if contact:
        assert tab.waits() == [["log", "memory"]]
        tab.run("() => window.makeRoom()")
        tab.flush()
        assert tab.waits() == [["log", "tablet"]]
        tab.open()
        assert tab.points(key, "key", "where") == [[FIRST, "tablet"]]
        clinic.fault = ""
        tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["log"])
    assert tab.points(key, "where") == ["clinic"]


def test_disk_full_when_the_answer_comes_keeps_the_act_for_a_reload(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    clinic.fault = ""
    tab.run(FULL)
    tab.flush()
    assert (tab.waits(), tab.points(key, "where")) == ([], ["clinic"])
    clinic.fault = "away"
    tab.open()
    assert tab.points(key, "key") == [FIRST]
    clinic.fault = ""
    tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["log"])


def test_without_a_secure_connection_acts_are_kept_and_sent_all_the_same(new_tab, clinic, key):
    tab = new_tab()
    tab.page.add_init_script(f"({WITHOUT})()")
    tab.open()
    assert tab.run("() => app.secure") is False
    clinic.fault = "away"
    tab.log(key, FIRST)
    tab.open()
    clinic.fault = ""
    tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["log"])


def test_without_any_storage_acts_go_from_memory(new_tab, clinic, key):
    tab = new_tab()
    tab.page.add_init_script(
        "IDBFactory.prototype.open = () => { throw new DOMException('Refused.', 'SecurityError'); }"
    )
    tab.open()
    clinic.fault = "away"
    tab.log(key, FIRST)
    assert tab.waits() == [["log", "memory"]]
    clinic.fault = ""
    tab.flush()
    assert (tab.waits(), clinic.kinds()) == ([], ["log"])


def test_disk_full_when_the_answer_comes_never_brings_the_old_state_back(tab, clinic, key):
    clinic.fault = "away"
    tab.log(key, FIRST)
    clinic.fault = ""
    tab.run(FULL)
    tab.flush()
    tab.run("() => app.reload()")
    assert tab.points(key, "key", "where") == [[FIRST, "clinic"]]


def test_full_disk_with_something_to_decide_ends_its_round(tab, clinic, key):
    """Each refusal to write asked for one more round, which tried to write again."""
    clinic.fault = "away"
    tab.run(FULL)
    op = tab.log(key, FIRST)
    clinic.refusals[op["id"]] = said(op, "refused", "More than remains.")
    clinic.fault = ""
    script = """() => Promise.race([
        app.flush().then(() => "ended"),
        new Promise((resolve) => setTimeout(resolve, 4000, "endless")),
    ])"""
    assert tab.run(script) == "ended"
    assert tab.waits() == [["log", "refused"]]


def test_what_a_person_has_just_decided_is_not_undone_by_reading_the_disk(tab, clinic, key):
    """The disk still had the older form: what the move builds on was forgotten."""
    clinic.fault = "away"
    op = tab.log(key, FIRST, amount=5000)
    move = tab.act("move", key, {"key": FIRST, "x_dmm": 1, "y_dmm": 2})
    clinic.refusals[op["id"]] = said(op, "refused", "More than remains.")
    clinic.fault = ""
    tab.flush()
    clinic.fault = "away"
    script = """async ([id, move]) => {
        const reading = app.reload();
        const [made] = app.resolve(id, "edit", { data: { amount: 300 } });
        await reading;
        await app.queue.write();
        await app.reload();
        return app.queue.records.get(move).op.base === made.id;
    }"""
    assert tab.run(script, [op["id"], move["id"]]) is True


def test_act_can_be_undone_though_the_disk_was_being_read_meanwhile(tab, key):
    """What came from the disk was the history before it."""
    tab.log(key, FIRST)
    script = """async ([key, data]) => {
        const reading = app.reload();
        app.act("log", key, data);
        await reading;
        app.undo(key);
    }"""
    tab.run(script, [key, POINT | {"key": SECOND}])
    assert tab.points(key, "key") == [FIRST]


def test_disk_that_never_answers_keeps_nothing_from_being_sent(tab, clinic, key):
    """A transaction that hangs, here behind another one, is given up; then it is a full disk."""
    clinic.fault = "away"
    tab.run(HUNG)
    tab.run("([key, data]) => app.act('log', key, data)", [key, POINT | {"key": FIRST}])
    assert tab.points(key, "where") == ["storing"]
    tab.until("(key) => app.session(key).points[0].where === 'memory'", key)
    clinic.fault = ""
    tab.run("() => app.flush()")
    assert clinic.kinds() == ["log"]
    tab.run("() => { window.hung = false; }")
    tab.log(key, SECOND)
    tab.until("() => app.waiting.length === 0")


def test_answer_to_what_a_person_decided_about_meanwhile_is_passed_over(tab, clinic, key):
    """The move went out on the point's first form; what was said of that is not said of it now."""
    clinic.fault = "away"
    op = tab.log(key, FIRST, amount=5000)
    clinic.refusals[op["id"]] = said(op, "refused", "More than remains.")
    clinic.fault = ""
    tab.flush()
    clinic.fault = "away"
    move = tab.act("move", key, {"key": FIRST, "x_dmm": 1, "y_dmm": 2})
    script = """async ([id, move]) => {
        const sent = [...app.queue.records.values()].map(({ id, op }) => ({ id, op }));
        app.resolve(id, "edit", { data: { amount: 300 } });
        await app.queue.write();
        const said = { id: move, outcome: "conflict", message: "It was changed.", conflict: null };
        await app.received({ results: [said], sessions: {} }, sent);
        await app.reload();
        return app.queue.records.get(move).state;
    }"""
    assert tab.run(script, [op["id"], move["id"]]) == "tablet"
