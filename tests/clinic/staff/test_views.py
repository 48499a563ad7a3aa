"""The pages of the staff: works, stranger, colleague, unknown id, bad input; sessions that end."""

import re

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from clinic.staff.models import User
from tests.factories import PASSWORD, make_room, make_user, make_working_time, refreshed
from tests.sent_forms import sent_of

LIST, NEW = reverse("staff-list"), reverse("staff-create")
OWN, SIGN_IN = reverse("staff-password"), reverse("staff-login")
NEW_PASSWORD = "another quite long one"
TYPED = {
    "full_name": "Nina New", "username": "nina", "registration_number": "Council 4711",
    "roles": ["injector", "owner"], "is_active": "on", "new_password": NEW_PASSWORD,
}  # fmt: skip


def edit(member) -> str:
    return reverse("staff-edit", kwargs={"pk": member.pk})


def as_typed(member, **change) -> dict:
    typed = {
        "full_name": member.full_name, "username": member.username, "registration_number": "",
        "roles": [role.value for role in member.roles], "is_active": "on", "new_password": "",
    }  # fmt: skip
    return typed | change


def test_a_member_is_added_and_signs_in(signed_in, owner):
    assert signed_in(owner).post(NEW, TYPED)["Location"] == LIST
    nina = User.objects.get(username="nina")
    assert (nina.is_front_desk, nina.is_injector, nina.is_owner) == (False, True, True)
    signed = Client().post(SIGN_IN, {"username": "nina", "password": NEW_PASSWORD})
    assert signed.status_code == 302


def test_a_new_injector_without_hours_is_pointed_out(signed_in, owner, injector):
    client = signed_in(owner)
    page = client.post(NEW, TYPED, follow=True).content.decode()
    assert "Nina New is saved. No working hours are set yet: see Working hours." in page
    page = client.get(edit(injector)).content.decode()
    assert "every open day is offered from 09:00 to 17:00" in page
    assert reverse("hours-detail", args=[injector.pk]) in page
    make_working_time(injector, make_room().site)
    for person in (injector, owner):
        assert "No hours set" not in client.get(edit(person)).content.decode()


def test_a_refused_sign_in_says_what_to_do_and_waits_for_the_password(desk):
    answer = Client().post(SIGN_IN, {"username": "desk", "password": "wrong"})
    page = answer.content.decode()
    assert "This user name and password do not belong together." in page
    assert 'value="desk"' in page
    focused = re.findall(r"<input[^>]* autofocus[^>]*>", page)
    assert [re.search(r'name="(\w+)"', field)[1] for field in focused] == ["password"]
    assert "wrong" not in page


def test_signing_in_starts_with_the_name(db):
    focused = re.findall(r"<input[^>]* autofocus[^>]*>", Client().get(SIGN_IN).content.decode())
    assert [re.search(r'name="(\w+)"', field)[1] for field in focused] == ["username"]


def test_the_list_shows_roles_and_who_left(signed_in, owner, injector):
    User.objects.filter(pk=injector.pk).update(is_active=False)
    page = signed_in(owner).get(LIST).content.decode()
    for shown in ("Olga Owner", "Practice owner", "Ida Injector", "Deactivated"):
        assert shown in page


def test_roles_and_name_are_changed(signed_in, owner, injector):
    typed = as_typed(injector, full_name="Ida Changed", roles=["front_desk"])
    assert signed_in(owner).post(edit(injector), typed).status_code == 302
    assert refreshed(injector).full_name == "Ida Changed"
    assert (injector.is_front_desk, injector.is_injector) == (True, False)
    assert injector.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"roles": []}, "roles", "at least one role"),
        ({"roles": ["boss"]}, "roles", "not one of the available choices"),
        ({"username": "owner"}, "username", "already"),
        ({"username": "OWNER"}, "username", "with this name already"),
        ({"username": "nina new"}, "username", "Use letters, digits and @ . + - _ only"),
        ({"full_name": ""}, "full_name", "required"),
        ({"new_password": ""}, "new_password", "required"),
        ({"new_password": "short"}, "new_password", "too short"),
        ({"new_password": "password"}, "new_password", "too common"),
        ({"new_password": "Nina New 1"}, "new_password", "too similar"),
    ],
)
def test_bad_input_keeps_what_was_typed_but_the_password(signed_in, owner, change, field, message):
    typed = TYPED | change
    answer = signed_in(owner).post(NEW, typed)
    form = answer.context["form"]
    assert message in " ".join(form.errors[field])
    kept = ("full_name", "username", "registration_number", "roles")
    assert {name: form[name].value() for name in kept} == {name: typed[name] for name in kept}
    if typed["new_password"]:
        assert f'value="{typed["new_password"]}"' not in answer.content.decode()
    assert User.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"roles": ["injector"]}, "your own role as practice owner"),
        ({"is_active": ""}, "cannot deactivate yourself"),
    ],
)
def test_one_cannot_lock_oneself_out(signed_in, owner, change, message):
    typed = as_typed(owner, full_name="Olga Renamed", **change)
    answer = signed_in(owner).post(edit(owner), typed)
    form = answer.context["form"]
    assert message in " ".join(form.non_field_errors())
    assert form["full_name"].value() == "Olga Renamed"
    assert (refreshed(owner).is_owner, owner.is_active) == (True, True)
    assert owner.full_name == "Olga Owner"


def test_a_deactivated_person_is_signed_out_with_the_next_click(signed_in, owner, injector):
    theirs = Client()
    theirs.force_login(injector)
    assert theirs.get(OWN).status_code == 200
    signed_in(owner).post(edit(injector), as_typed(injector, is_active=""))
    assert theirs.get(OWN)["Location"].startswith(SIGN_IN)
    again = theirs.post(SIGN_IN, {"username": "injector", "password": PASSWORD})
    assert again.status_code == 200
    assert again.context["form"].errors


def test_a_page_opened_earlier_gives_nobody_their_access_back(signed_in, owner, injector):
    """One owner's tab takes access and number away, another's, opened before, changes the name."""
    client, url = signed_in(owner), edit(injector)
    earlier = sent_of(client.get(url).content.decode())
    now = {name: value for name, value in earlier.items() if name != "is_active"}
    assert client.post(url, now | {"registration_number": "Council 4711"}).status_code == 302
    assert client.post(url, earlier | {"full_name": "Ida Married"}).status_code == 302
    assert not refreshed(injector).is_active
    assert (injector.registration_number, injector.full_name) == ("Council 4711", "Ida Married")


def test_a_page_opened_earlier_gives_no_role_back(signed_in, owner):
    nina = make_user("nina", is_injector=True, is_owner=True)
    client, url = signed_in(owner), edit(nina)
    earlier = sent_of(client.get(url).content.decode())
    client.post(url, earlier | {"roles": ["injector"]})
    client.post(url, earlier | {"registration_number": "Council 4711"})
    assert (refreshed(nina).is_owner, nina.registration_number) == (False, "Council 4711")
    answer = client.post(url, earlier | {"roles": ["front_desk", "owner"]})
    (words,) = answer.context["form"].errors["roles"]
    assert words.startswith(
        "Somebody changed this from “Injector, Practice owner” to “Injector” while"
    )
    client.post(url, sent_of(answer.content.decode()) | {"roles": ["front_desk", "owner"]})
    assert refreshed(nina).role_labels == ["Front desk", "Practice owner"]


def test_a_password_is_in_no_hidden_field(signed_in, owner, injector):
    typed = as_typed(injector, full_name="", new_password=NEW_PASSWORD)
    answer = signed_in(owner).post(edit(injector), typed)
    assert answer.context["form"].errors
    assert NEW_PASSWORD not in answer.content.decode()


def test_a_new_password_set_by_the_owner_ends_other_sessions(signed_in, owner, injector):
    theirs = Client()
    theirs.force_login(injector)
    signed_in(owner).post(edit(injector), as_typed(injector, new_password=NEW_PASSWORD))
    assert theirs.get(OWN).status_code == 302
    assert refreshed(injector).check_password(NEW_PASSWORD)


def test_what_a_password_needs_is_said_in_one_line(signed_in, owner):
    """The sentence repeats the settings: twelve characters pass, eleven do not."""
    client = signed_in(owner)
    for url, field in [(OWN, "new_password1"), (reverse("staff-create"), "new_password")]:
        text = client.get(url).context["form"].fields[field].help_text
        assert text.startswith("At least 12 characters;")
        assert len(text) < 80
    validate_password("k7#pQ2wz!m4T")
    with pytest.raises(ValidationError, match="too short"):
        validate_password("k7#pQ2wz!m4")


def test_the_owner_who_sets_their_own_password_stays_signed_in(signed_in, owner):
    client = signed_in(owner)
    client.post(edit(owner), as_typed(owner, new_password=NEW_PASSWORD))
    assert client.get(LIST).status_code == 200


@pytest.mark.parametrize("username", ["desk", "injector", "owner"])
def test_everybody_changes_their_own_password(signed_in, db, username):
    person, other = make_user(username), Client()
    other.force_login(person)
    client = signed_in(person)
    answer = client.post(
        OWN,
        {"old_password": PASSWORD, "new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD},
    )
    assert answer.status_code == 302
    assert refreshed(person).check_password(NEW_PASSWORD)
    assert client.get(OWN).status_code == 200
    assert other.get(OWN).status_code == 302


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"old_password": "wrong"}, "old_password"),
        ({"new_password2": "something else here"}, "new_password2"),
        ({"new_password1": "1234", "new_password2": "1234"}, "new_password2"),
    ],
)
def test_ones_own_password_is_not_changed_by_mistake(signed_in, injector, change, field):
    typed = {
        "old_password": PASSWORD, "new_password1": NEW_PASSWORD, "new_password2": NEW_PASSWORD,
    }  # fmt: skip
    answer = signed_in(injector).post(OWN, typed | change)
    assert list(answer.context["form"].errors) == [field]
    assert refreshed(injector).check_password(PASSWORD)


def test_strangers_colleagues_unknown_id_and_wrong_method(client, owner, injector, desk):
    for url in (LIST, NEW, edit(owner), OWN):
        assert client.get(url)["Location"].startswith(SIGN_IN)
    for person in (injector, desk):
        client.force_login(person)
        assert client.get(LIST).status_code == 403
        for url in (NEW, edit(person)):
            assert client.post(url, TYPED).status_code == 403
    assert not User.objects.filter(username="nina").exists()
    client.force_login(owner)
    assert client.get(reverse("staff-edit", kwargs={"pk": 999})).status_code == 404
    assert client.post(LIST).status_code == 405
    assert client.delete(NEW).status_code == 405


def test_one_entry_of_the_navigation_is_current(signed_in, owner):
    for url, label in [("stock-list", "Stock"), ("product-list", "Stock"),
                       ("recall-create", "Recalls")]:  # fmt: skip
        answer = signed_in(owner).get(reverse(url))
        marked = [item for item in answer.context["navigation"] if item["current"]]
        assert [item["current"] for item in marked] == [label]


def test_navigation_leads_only_where_the_person_may_go(signed_in, desk, injector):
    def labels(user):
        answer = signed_in(user).get(reverse("today"))
        return [entry["label"] for entry in answer.context["navigation"]]

    assert labels(desk) == [
        "Today", "Patients", "Diary", "Follow-up", "Waiting list", "Messages",
    ]  # fmt: skip
    assert labels(injector) == [
        "Today", "Charting", "Patients", "Diary", "Follow-up", "Waiting list", "Messages", "Scan",
        "Care", "Stock",
    ]  # fmt: skip
