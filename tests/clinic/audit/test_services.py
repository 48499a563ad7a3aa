"""One act inside another: one trail, written once; a failed part takes its own events along."""

import contextlib
import threading

import pytest
from django.db import connection, transaction

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.audit.services import acting
from clinic.database.models import Counter
from tests.factories import make_user

pytestmark = pytest.mark.django_db


def noted() -> list[str]:
    return list(AuditEvent.objects.order_by("id").values_list("action", flat=True))


def note(actor, action: str) -> None:
    with acting(actor) as trail:
        trail.add(action, Counter(name=action))


def fail_after_noting(actor) -> None:
    with acting(actor) as part:
        Counter.objects.create(name="lost")
        part.add("lost", Counter(name="lost"))
        note(actor, "lost too")
        raise ValueError("failed")


def test_a_part_writes_nothing_until_the_whole_ends(injector):
    with acting(injector) as trail:
        trail.add("first", Counter(name="a"))
        note(injector, "second")
        assert noted() == []
        trail.add("third", Counter(name="a"))
    assert noted() == ["first", "second", "third"]
    assert verify_chain().intact


def test_the_end_of_the_chain_is_locked_once_for_all_parts(injector, django_assert_num_queries):
    note(injector, "before")
    # Savepoint of the test's own transaction (2), then the chain's end: read, rows, update (3);
    # each part is a savepoint (2).
    with django_assert_num_queries(2 + 3 + 4 * 2), acting(injector):
        for number in range(4):
            note(injector, f"part{number}")


def test_a_failed_part_loses_its_own_events_only(injector):
    with acting(injector) as trail:
        trail.add("first", Counter(name="a"))
        with pytest.raises(ValueError, match="failed"):
            fail_after_noting(injector)
        note(injector, "last")
    assert noted() == ["first", "last"]
    assert not Counter.objects.filter(name="lost").exists()


def test_a_failed_whole_leaves_nothing_and_the_next_one_starts_anew(injector):
    with pytest.raises(ValueError, match="failed"):
        fail_after_noting(injector)
    note(injector, "next")
    assert noted() == ["next"]


def test_another_persons_act_inside_has_a_trail_of_its_own(injector):
    other = make_user("second", is_injector=True)
    with acting(injector) as trail:
        trail.add("mine", Counter(name="a"))
        with acting(other) as inner:
            inner.add("theirs", Counter(name="b"))
            assert inner is not trail
        note(None, "command")
        note(injector, "mine again")
    by_actor = AuditEvent.objects.order_by("id").values_list("action", "actor")
    assert dict(by_actor) == {
        "theirs": other.pk, "command": None, "mine": injector.pk, "mine again": injector.pk
    }  # fmt: skip


@pytest.mark.django_db(transaction=True)
def test_a_thread_acts_for_itself():
    """Its transaction is another one, so it commits although the outer one fails."""
    person = make_user("injector")

    def elsewhere() -> None:
        note(person, "thread")
        connection.close()

    def outer() -> None:
        with acting(person) as trail:
            # On SQLite one writer waits for the other, so there no thread is tried.
            if connection.vendor == "postgresql":
                thread = threading.Thread(target=elsewhere)
                thread.start()
                thread.join()
            trail.add("outer", Counter(name="a"))
            raise ValueError("failed")

    with pytest.raises(ValueError, match="failed"):
        outer()
    assert noted() == (["thread"] if connection.vendor == "postgresql" else [])


def test_a_block_after_a_broken_one_in_the_same_transaction(injector):
    """The trail of a block that ended is not gone on with."""
    with transaction.atomic():
        note(injector, "one")
        assert noted() == ["one"]
        note(injector, "two")
    assert noted() == ["one", "two"]


def test_an_act_as_one_needs_one_savepoint_for_all_its_parts(injector, django_assert_num_queries):
    note(injector, "before")
    # The test's own savepoint (2), the act's (2), the chain's end (3).
    with (
        django_assert_num_queries(2 + 2 + 3),
        acting(injector),
        acting(injector, as_one=True),
    ):
        note(injector, "inside")
        note(injector, "inside too")


def act_that_fails(actor) -> None:
    with acting(actor, as_one=True):
        note(actor, "falls too")
        fail_after_noting(actor)


def act_that_goes_on(actor) -> None:
    with acting(actor, as_one=True):
        note(actor, "falls too")
        with contextlib.suppress(ValueError):
            fail_after_noting(actor)


def test_an_act_as_one_falls_with_any_of_its_parts(injector):
    with acting(injector):
        note(injector, "first")
        with pytest.raises(ValueError, match="failed"):
            act_that_fails(injector)
        note(injector, "last")
    assert noted() == ["first", "last"]
    assert not Counter.objects.filter(name="lost").exists()


def test_a_whole_trail_as_one_needs_no_savepoint(injector, django_assert_num_queries):
    note(injector, "before")
    # The test's own savepoint (2), the chain's end (3).
    with django_assert_num_queries(2 + 3), acting(injector, as_one=True):
        note(injector, "inside")
        note(injector, "inside too")


def test_a_whole_trail_as_one_does_not_pass_over_a_failed_part(injector):
    with pytest.raises(RuntimeError, match="went on"):
        act_that_goes_on(injector)
    assert noted() == []
    assert not Counter.objects.filter(name="lost").exists()


def test_an_act_as_one_does_not_pass_over_a_failed_part(injector):
    with acting(injector):
        with pytest.raises(RuntimeError, match="went on"):
            act_that_goes_on(injector)
        note(injector, "last")
        with acting(injector, as_one=True):
            note(injector, "anew")
    assert noted() == ["last", "anew"]
    assert not Counter.objects.filter(name="lost").exists()
