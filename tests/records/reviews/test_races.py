"""Several people at one review, or one patient's adverse event, at the same moment."""

import threading
from datetime import timedelta
from functools import partial

import pytest
from django.db import connection
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from records.reviews.errors import DayRefused, ReviewClosed
from records.reviews.queries.dates import reviews_off_their_history
from records.reviews.services.acts import mark_done
from records.reviews.services.moving import move_review
from records.reviews.services.recomputing import recompute
from records.sessions.services.signing import add_addendum
from tests.factories import refreshed
from tests.records.reviews.treatments import treat


def at_once(acts) -> list[str]:
    """Run the acts in threads of their own, let go together; what became of each."""
    gate, outcomes = threading.Barrier(len(acts)), []

    def run(act) -> None:
        try:
            gate.wait(timeout=30)
            act()
            outcomes.append("carried out")
        except (DayRefused, ReviewClosed):
            outcomes.append("refused")
        except Exception as error:  # anything else must show in the assertion, not be lost
            outcomes.append(repr(error))
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return outcomes


@pytest.mark.django_db(transaction=True)
def test_who_moves_closes_and_reckons_at_once_leaves_one_history(desk, injector, owner, patient):
    ClinicPolicy.objects.create(open_weekdays=[1, 2, 3, 4, 5, 6, 7])
    today = timezone.localdate()
    review = treat(injector, patient, today).reviews.get()
    ClinicPolicy.objects.update(review_count=20)

    def move(days: int):
        day = today + timedelta(days=days)
        return lambda: move_review(review=review, due_on=day, reason="Away", actor=desk)

    outcomes = at_once(
        [
            *(move(days) for days in (25, 26, 27)),
            *(lambda: recompute(actor=owner) for _ in range(2)),
            lambda: mark_done(review=review, actor=injector),
        ]
    )
    assert set(outcomes) <= {"carried out", "refused"}
    assert outcomes.count("carried out") >= 3, "reckoning and closing are never refused"
    assert refreshed(review).outcome == "done"
    assert not reviews_off_their_history()
    assert patient.reviews.count() == 1


@pytest.mark.django_db(transaction=True)
def test_an_addendum_and_reckoning_anew_wait_for_each_other(injector, owner, patient):
    """Each takes the session, then its reviews; the other way round one of both was a deadlock."""
    ClinicPolicy.objects.create(open_weekdays=[1, 2, 3, 4, 5, 6, 7])
    today = timezone.localdate()
    sessions = [treat(injector, patient, today - timedelta(days=n)) for n in range(6)]

    def add(session) -> None:
        day = today + timedelta(days=25)
        add_addendum(
            session=session, reason="Slip", text="It was the other one.", actor=injector,
            moved={session.reviews.get(): day},
        )  # fmt: skip

    for number, session in enumerate(sessions):
        ClinicPolicy.objects.update(review_count=20 + number)
        acts = [partial(add, session), *[partial(recompute, actor=owner)] * 2]
        assert at_once(acts) == ["carried out"] * 3
    assert not reviews_off_their_history()
