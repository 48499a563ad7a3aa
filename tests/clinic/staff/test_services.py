"""Members of staff: nobody locks the clinic out, and no password reaches the trail."""

import threading

import pytest
from django.db import IntegrityError, connection, transaction

from clinic.audit.models import AuditEvent
from clinic.staff.errors import StaffError
from clinic.staff.models import User
from clinic.staff.services import change_own_password, save_member
from tests.factories import make_user, refreshed

PASSWORD = "another quite long one"


def changed(person: User, **fields) -> User:
    """The person as a form would hand it over."""
    person = User.objects.get(pk=person.pk)
    for name, value in fields.items():
        setattr(person, name, value)
    return person


def test_a_new_member_signs_in_with_the_password_given(owner):
    member = User(username="new", full_name="Nina New", is_injector=True)
    save_member(member=member, actor=owner, password=PASSWORD)
    assert refreshed(member).check_password(PASSWORD)
    actions = AuditEvent.objects.values_list("action", flat=True)
    assert list(actions) == ["staff.password_set", "staff.saved"]
    assert not AuditEvent.objects.filter(data__contains=PASSWORD).exists()
    assert not AuditEvent.objects.filter(data__contains="password").exists()


def test_a_new_member_without_a_password_cannot_sign_in(owner):
    member = User(username="new", full_name="Nina New", is_injector=True)
    save_member(member=member, actor=owner)
    assert not refreshed(member).has_usable_password()


def test_roles_before_and_after_are_in_the_trail(owner, injector):
    save_member(member=changed(injector, is_owner=True), actor=owner)
    event = AuditEvent.objects.get()
    assert event.data == '{"after":{"is_owner":true},"before":{"is_owner":false}}'


def test_saving_without_a_change_writes_nothing(owner, injector):
    save_member(member=changed(injector), actor=owner)
    assert not AuditEvent.objects.exists()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"is_owner": False, "is_injector": True}, "your own role as practice owner"),
        ({"is_active": False}, "cannot deactivate yourself"),
    ],
)
def test_nobody_takes_away_their_own_rights_even_beside_another_owner(owner, change, message):
    make_user("second", is_owner=True)
    with pytest.raises(StaffError, match=message):
        save_member(member=changed(owner, **change), actor=owner)
    assert (refreshed(owner).is_owner, owner.is_active) == (True, True)


@pytest.mark.parametrize("change", [{"is_owner": False, "is_injector": True}, {"is_active": False}])
def test_the_last_active_owner_stays(owner, change):
    make_user("retired", is_owner=True)
    User.objects.filter(username="retired").update(is_active=False)
    with pytest.raises(StaffError, match="Olga Owner is the last active practice owner"):
        save_member(member=changed(owner, **change), actor=None)
    assert (refreshed(owner).is_owner, owner.is_active) == (True, True)


def test_one_of_two_owners_may_go(owner):
    second = make_user("second", is_owner=True)
    save_member(member=changed(second, is_active=False), actor=owner)
    assert not refreshed(second).is_active


def test_one_without_a_role_is_refused_by_the_database(owner):
    with pytest.raises(IntegrityError, match="user_has_a_role"), transaction.atomic():
        User.objects.filter(pk=owner.pk).update(is_owner=False)


def test_ones_own_password(injector):
    change_own_password(member=injector, password=PASSWORD)
    assert refreshed(injector).check_password(PASSWORD)
    event = AuditEvent.objects.get()
    assert (event.action, event.actor, event.data) == ("staff.password_set", injector, "{}")


@pytest.mark.django_db(transaction=True)
def test_two_owners_who_demote_one_another_at_once_leave_one():
    one, two = make_user("one", is_owner=True), make_user("two", is_owner=True)
    start, outcomes = threading.Barrier(2), []

    def demote(member: User, actor: User) -> None:
        try:
            start.wait(timeout=30)
            save_member(member=changed(member, is_owner=False, is_front_desk=True), actor=actor)
            outcomes.append("saved")
        except StaffError:
            outcomes.append("refused")
        finally:
            connection.close()

    both = [
        threading.Thread(target=demote, args=(one, two)),
        threading.Thread(target=demote, args=(two, one)),
    ]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join(timeout=60)
    assert sorted(outcomes) == ["refused", "saved"]
    assert User.objects.filter(is_owner=True).count() == 1
