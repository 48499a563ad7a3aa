"""`manage.py createsuperuser`: how the first person gets into an empty clinic."""

import pytest
from django.core.management import CommandError, call_command

from clinic.access.enums import Role
from clinic.audit.models import AuditEvent
from clinic.staff.models import User

PASSWORD = "another quite long one"


def create_owner(monkeypatch, **options):
    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", PASSWORD)
    given = {"username": "first", "full_name": "Dr First Owner"} | options
    call_command("createsuperuser", interactive=False, verbosity=0, **given)


@pytest.mark.django_db
def test_the_first_person_is_a_practice_owner_who_signs_in(monkeypatch, client):
    create_owner(monkeypatch)
    person = User.objects.get()
    assert person.roles == {Role.OWNER}
    assert client.login(username="first", password=PASSWORD)
    assert client.get("/staff/").status_code == 200


@pytest.mark.django_db
def test_the_trail_begins_with_it_and_holds_no_password(monkeypatch):
    create_owner(monkeypatch)
    event = AuditEvent.objects.get()
    assert (event.action, event.subject_id, event.actor) == (
        "staff.saved", str(User.objects.get().pk), None,
    )  # fmt: skip
    assert "Dr First Owner" in event.data
    assert PASSWORD not in event.data
    assert User.objects.get().password not in event.data


@pytest.mark.django_db
def test_a_taken_user_name_leaves_person_and_trail_as_they_were(monkeypatch):
    create_owner(monkeypatch)
    with pytest.raises(CommandError, match="already taken"):
        create_owner(monkeypatch, full_name="Somebody Else")
    assert User.objects.get().full_name == "Dr First Owner"
    assert AuditEvent.objects.count() == 1
