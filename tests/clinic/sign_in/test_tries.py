"""Guessing comes to an end: at the door, and where somebody signed in gives the password again."""

import json
import threading
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.sign_in.addresses import address_of
from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.models import FailedTry
from clinic.sign_in.services import COUNTED_FOR, MOST_OF_ADDRESS, MOST_OF_NAME, proves, tried
from clinic.staff.services import save_member
from tests.factories import PASSWORD

DOOR = reverse("staff-login")
WRONG = "wrong"
TOO_MANY = "Too many wrong passwords. Wait 15 minutes"


def at_the_door(client, name="injector", password=WRONG) -> str:
    """The page that refuses; empty where somebody was let in."""
    answer = client.post(DOOR, {"username": name, "password": password})
    return "" if answer.status_code == 302 else answer.content.decode()


@pytest.mark.parametrize("name", ["injector", "INJECTOR", "nobody-of-that-name"])
def test_after_ten_tries_no_password_is_looked_at(client, injector, name):
    """Whether somebody has the name is not to be seen: OWASP ASVS 4.0.3, 2.2.1 and 3.2.2."""
    pages = [at_the_door(client, name) for _ in range(MOST_OF_NAME + 2)]
    assert [TOO_MANY in page for page in pages] == [False] * MOST_OF_NAME + [True] * 2
    assert all("do not belong together" in page for page in pages[:MOST_OF_NAME])
    assert TOO_MANY in at_the_door(client, name, PASSWORD)


def test_a_colleague_gets_in_and_so_does_the_person_when_the_time_is_over(client, injector, desk):
    with time_machine.travel(timezone.now(), tick=False) as clock:
        for _ in range(MOST_OF_NAME):
            at_the_door(client)
        assert TOO_MANY in at_the_door(client, password=PASSWORD)
        assert at_the_door(client, "desk", PASSWORD) == ""
        clock.shift(COUNTED_FOR - timedelta(seconds=1))
        assert TOO_MANY in at_the_door(client, password=PASSWORD)
        clock.shift(timedelta(seconds=2))
        assert at_the_door(client, password=PASSWORD) == ""


def test_the_right_password_ends_the_count(client, injector):
    for _ in range(3):
        for _ in range(MOST_OF_NAME - 1):
            at_the_door(client)
        assert at_the_door(client, password=PASSWORD) == ""
    assert not FailedTry.objects.exists()


def test_one_address_has_its_limit_whatever_names_it_tries(db):
    for number in range(MOST_OF_ADDRESS):
        assert not tried(lambda: None, name=f"name {number}", address="192.0.2.7")
    with pytest.raises(TooManyTries):
        tried(lambda: True, name="another", address="192.0.2.7")
    assert tried(lambda: True, name="another", address="192.0.2.8")
    assert tried(lambda: True, name="another", address=None)


def test_the_trail_says_once_that_somebody_was_locked_out(client, injector, owner):
    for _ in range(MOST_OF_NAME + 3):
        at_the_door(client)
        at_the_door(client, "nobody-of-that-name")
    event = AuditEvent.objects.get(action="sign_in.locked")
    assert (event.actor, event.subject_id) == (None, str(injector.pk))
    assert json.loads(event.data) == {"after": {"address": "127.0.0.1"}}


def test_what_was_typed_as_a_name_is_not_kept(client, db):
    """People type their password into the wrong field."""
    at_the_door(client, "my secret password")
    row = FailedTry.objects.get()
    assert "secret" not in row.whose + str(row)


def test_nobody_outside_keeps_an_injector_from_signing(client, injector):
    for _ in range(MOST_OF_NAME + 1):
        at_the_door(client)
    assert proves(injector, PASSWORD)


def test_a_tablet_that_is_signed_in_is_no_place_for_guessing(signed_in, injector):
    def unlock(password: str):
        sent = json.dumps({"password": password})
        return signed_in(injector).post(
            reverse("tablet-unlock"), sent, content_type="application/json"
        )

    for _ in range(MOST_OF_NAME):
        assert "not your password" in unlock("wrong").json()["message"]
    assert TOO_MANY in unlock(PASSWORD).json()["message"]


def test_a_new_password_from_the_owner_opens_the_door_at_once(client, injector, owner):
    for _ in range(MOST_OF_NAME):
        at_the_door(client)
    save_member(member=injector, actor=owner, password="another long password")
    assert at_the_door(client, password="another long password") == ""


@pytest.mark.django_db(transaction=True)
def test_many_at_once_get_no_more_tries_than_one_after_the_other(injector):
    looked_at, refused, gate = [], [], threading.Barrier(16)

    def guess() -> None:
        try:
            gate.wait(timeout=30)
            tried(lambda: looked_at.append(1), name="injector", address=None)
        except TooManyTries:
            refused.append(1)
        finally:
            connection.close()

    threads = [threading.Thread(target=guess) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len(looked_at) + len(refused) == 16
    assert len(looked_at) <= MOST_OF_NAME


@pytest.mark.parametrize(
    ("is_served", "headers", "address"),
    [
        (False, {}, "127.0.0.1"),
        (False, {"x-forwarded-for": "192.0.2.1"}, "127.0.0.1"),
        (True, {"x-forwarded-for": "192.0.2.1"}, "192.0.2.1"),
        (True, {"x-forwarded-for": "203.0.113.9, 192.0.2.1"}, "192.0.2.1"),
        (True, {"x-forwarded-for": "2001:db8::1"}, "2001:db8::1"),
        (True, {"x-forwarded-for": "unknown"}, None),
    ],
)
def test_the_address_is_the_one_the_proxy_saw(settings, is_served, headers, address):
    """Addresses for documentation: RFC 5737, RFC 3849."""
    settings.SECURE = is_served
    assert address_of(RequestFactory().get("/", headers=headers)) == address
