"""
The audit trail holds: the database refuses changes, and a change made behind its back is found.

The digest is checked against Python's own SHA-256 over a text written out by hand here.
"""

import hashlib
import threading
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from clinic.audit.chain import GENESIS, chained_digest, row_text
from clinic.audit.models import AuditEvent, AuditHead
from clinic.audit.queries import verify_chain
from clinic.audit.services import acting, record_read
from clinic.database import triggers
from clinic.database.models import Counter
from tests.factories import make_user

pytestmark = pytest.mark.django_db


def write_events(count: int, actor=None) -> None:
    for number in range(count):
        with acting(actor) as trail:
            trail.add("tests.noted", Counter(name=f"n{number}"), after={"number": number})


def behind_the_triggers(statement: str) -> None:
    """What a person with the database's own tools could do."""
    triggers.drop_all(connection)
    with connection.cursor() as cursor:
        cursor.execute(statement)
    triggers.install_all(connection)


def command(**options) -> str:
    out = StringIO()
    call_command("verify_audit", stdout=out, **options)
    return out.getvalue().strip()


def test_the_digest_is_sha_256_over_the_row_written_out():
    text = row_text(
        position=1,
        at=datetime(2026, 11, 25, 10, 0, tzinfo=UTC),
        actor_id=7,
        action="lot.quarantined",
        subject_type="lot",
        subject_id="4",
        patient_id=None,
        data='{"reason":"Størrelse"}',
    )
    by_hand = (
        '[1,"2026-11-25T10:00:00.000000+00:00",7,"lot.quarantined","lot","4",null,'
        '"{\\"reason\\":\\"Størrelse\\"}"]'
    )
    assert text == by_hand
    expected = hashlib.sha256(f"{GENESIS}\n{by_hand}".encode()).hexdigest()
    assert chained_digest(GENESIS, text) == expected


def test_an_empty_trail_is_intact():
    assert verify_chain().intact
    assert command().splitlines()[0] == f"intact: 0 events, head digest {GENESIS}"


def test_rows_follow_one_another_from_one_without_gaps(owner):
    write_events(3, owner)
    record_read(owner, owner, patient_id=5)
    rows = list(AuditEvent.objects.order_by("id"))
    assert [row.id for row in rows] == [1, 2, 3, 4]
    assert [row.previous_digest for row in rows] == [GENESIS, *(row.digest for row in rows[:3])]
    head = AuditHead.objects.get()
    assert (head.count, head.digest) == (4, rows[-1].digest)
    assert command().splitlines() == [
        f"intact: 4 events, head digest {rows[-1].digest}",
        f"Keep this elsewhere, for --kept: 4:{rows[-1].digest}",
    ]


def test_the_event_is_undone_with_the_change_it_tells_of():
    def fail_after_writing() -> None:
        with acting(None) as trail:
            Counter.objects.create(name="half done")
            trail.add("tests.noted", Counter(name="half done"))
            trail.write()
            raise ZeroDivisionError

    write_events(1)
    with pytest.raises(ZeroDivisionError):
        fail_after_writing()
    assert not Counter.objects.exists()
    assert AuditEvent.objects.count() == 1
    assert verify_chain().intact


def test_an_event_that_cannot_be_written_undoes_the_change():
    def change_and_tell_nonsense() -> None:
        with acting(None) as trail:
            Counter.objects.create(name="change")
            trail.add("tests.noted", Counter(name="change"), after={"what": object()})

    with pytest.raises(TypeError):
        change_and_tell_nonsense()
    assert not Counter.objects.exists()


# The database refuses


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE clinic_auditevent SET action = 'x'",
        "UPDATE clinic_auditevent SET actor_id = NULL WHERE id = 2",
        "DELETE FROM clinic_auditevent",
        "DELETE FROM clinic_auditevent WHERE id = 3",
    ],
)
def test_change_and_removal_are_refused(owner, statement):
    write_events(3, owner)
    before = list(AuditEvent.objects.values_list())
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert list(AuditEvent.objects.values_list()) == before


WAYS_ROUND = {
    "sqlite": [
        "PRAGMA recursive_triggers = ON",
        "INSERT OR REPLACE INTO clinic_auditevent SELECT * FROM clinic_auditevent",
        "PRAGMA recursive_triggers = OFF",
        "INSERT OR REPLACE INTO clinic_auditevent SELECT * FROM clinic_auditevent",
        "REPLACE INTO clinic_auditevent SELECT * FROM clinic_auditevent WHERE id = 2",
        "PRAGMA recursive_triggers = ON",
    ],
    "postgresql": [
        "TRUNCATE clinic_auditevent",
        "TRUNCATE clinic_auditevent CASCADE",
        "TRUNCATE clinic_user CASCADE",
        "INSERT INTO clinic_auditevent SELECT * FROM clinic_auditevent "
        "ON CONFLICT (id) DO UPDATE SET action = 'x'",
    ],
}


def test_ways_round_the_plain_rules_are_refused_too():
    """INSERT OR REPLACE fires no DELETE trigger by default, TRUNCATE no row trigger at all."""
    write_events(2)
    connection.check_constraints()  # PostgreSQL empties no table with checks still to do
    for statement in WAYS_ROUND[connection.vendor]:
        if statement.startswith("PRAGMA"):
            with connection.cursor() as cursor:
                cursor.execute(statement)
            continue
        with (
            pytest.raises(IntegrityError, match="append-only"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)
    assert verify_chain().checked == 2


def test_there_is_one_end_of_the_chain():
    with pytest.raises(IntegrityError, match="audit_head_is_one_row"), transaction.atomic():
        AuditHead.objects.create(id=2, digest=GENESIS)


# What is changed behind the triggers is found

COLUMNS = (
    "at, actor_id, action, subject_type, subject_id, patient_id, data, previous_digest, digest"
)


@pytest.mark.parametrize(
    ("statements", "broken_at", "reason"),
    [
        (["UPDATE clinic_auditevent SET action = 'x' WHERE id = 3"], 3, "content does not match"),
        (["UPDATE clinic_auditevent SET data = '{}' WHERE id = 1"], 1, "content does not match"),
        (
            ["UPDATE clinic_auditevent SET patient_id = 9 WHERE id = 5"],
            5,
            "content does not match",
        ),
        (["UPDATE clinic_auditevent SET actor_id = {other} WHERE id = 4"], 4, "content does not"),
        (["UPDATE clinic_auditevent SET actor_id = NULL WHERE id = 4"], 4, "content does not"),
        (["UPDATE clinic_auditevent SET digest = previous_digest WHERE id = 2"], 2, "content"),
        (["UPDATE clinic_auditevent SET previous_digest = digest WHERE id = 2"], 2, "follow from"),
        (["DELETE FROM clinic_auditevent WHERE id = 3"], 3, "row 3 is missing"),
        (["DELETE FROM clinic_auditevent WHERE id = 1"], 1, "row 1 is missing"),
        (["DELETE FROM clinic_auditevent WHERE id >= 4"], 4, "ends at row 3, but 5 rows"),
        (["DELETE FROM clinic_auditevent"], 1, "ends at row 0, but 5 rows"),
        (
            [f"INSERT INTO clinic_auditevent (id, {COLUMNS}) SELECT 6, {COLUMNS} "  # noqa: S608
             "FROM clinic_auditevent WHERE id = 5"],
            6,
            "slipped in past the end",
        ),
        (
            ["DELETE FROM clinic_auditevent WHERE id = 3",
             "UPDATE clinic_auditevent SET id = id - 1 WHERE id = 4",
             "UPDATE clinic_auditevent SET id = id - 1 WHERE id = 5",
             "UPDATE clinic_audithead SET count = 4"],
            3,
            "follow from",
        ),
        (["UPDATE clinic_audithead SET digest = 'x'"], 5, "kept for the end"),
    ],
)  # fmt: skip
def test_the_first_broken_row_is_named(owner, statements, broken_at, reason):
    write_events(5, owner)
    other = make_user("injector").pk
    for statement in statements:
        behind_the_triggers(statement.replace("{other}", str(other)))
    verdict = verify_chain()
    assert (verdict.intact, verdict.broken_at) == (False, broken_at)
    assert reason in verdict.reason
    with pytest.raises(CommandError, match=f"broken at row {broken_at}: ") as refusal:
        command()
    assert refusal.value.returncode == 1


def test_two_actors_swapped_are_found_at_the_first_of_them(owner):
    injector = make_user("injector")
    write_events(2, owner)
    write_events(2, injector)
    behind_the_triggers(
        f"UPDATE clinic_auditevent SET actor_id = {owner.pk + injector.pk} - actor_id "  # noqa: S608
        "WHERE id IN (2, 3)"
    )
    assert verify_chain().broken_at == 2


def test_a_tail_cut_and_closed_again_is_found_by_the_digest_kept_elsewhere():
    write_events(4)
    kept = f"4:{AuditHead.objects.get().digest}"
    assert "intact: 4" in command(kept=kept)
    third = AuditEvent.objects.get(id=3).digest
    behind_the_triggers("DELETE FROM clinic_auditevent WHERE id = 4")
    AuditHead.objects.update(count=3, digest=third)
    assert verify_chain().intact  # by itself the chain cannot know
    with pytest.raises(CommandError, match="broken at row 4 or before it"):
        command(kept=kept)
    write_events(1)
    with pytest.raises(CommandError, match="no longer holds the digest"):
        command(kept=kept)


@pytest.mark.parametrize("kept", ["4", "x:" + "0" * 64, "4:abc"])
def test_a_kept_digest_that_is_none_is_refused(kept):
    with pytest.raises(CommandError, match="N:DIGEST"):
        command(kept=kept)


def test_what_is_written_during_a_check_raises_no_alarm(monkeypatch):
    write_events(3)
    real = chained_digest

    def while_checking(previous, text):
        monkeypatch.setattr("clinic.audit.queries.chained_digest", real)
        write_events(2)
        return real(previous, text)

    monkeypatch.setattr("clinic.audit.queries.chained_digest", while_checking)
    verdict = verify_chain()
    assert (verdict.intact, verdict.checked) == (True, 3)


@pytest.mark.django_db(transaction=True)
def test_eight_writers_at_once_make_one_unbroken_chain():
    errors, start = [], threading.Barrier(8)

    def write(name: str) -> None:
        try:
            start.wait(timeout=30)
            for number in range(5):
                with acting(None) as trail:
                    Counter.objects.create(name=f"{name} {number}")
                    trail.add("tests.noted", Counter(name=f"{name} {number}"))
                    trail.add("tests.noted", Counter(name="again"))
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    writers = [threading.Thread(target=write, args=(f"writer {n}",)) for n in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(timeout=60)
    assert errors == []
    assert AuditEvent.objects.count() == 80
    verdict = verify_chain()
    assert (verdict.intact, verdict.checked) == (True, 80)
