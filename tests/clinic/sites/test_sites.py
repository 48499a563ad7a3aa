"""Adding, changing and retiring the sites of the clinic."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.sites.models import Site
from tests.factories import make_room, make_working_time

pytestmark = pytest.mark.django_db
LIST, NEW = reverse("site-list"), reverse("site-create")
TYPED = {"name": "Harbour", "address": "1 Quay\nLarkstone", "phone": "020 7946 0123"}


def edit_url(site: Site) -> str:
    return reverse("site-edit", args=[site.pk])


def test_a_site_is_added_and_listed_with_its_rooms(signed_in, owner):
    client = signed_in(owner)
    assert client.post(NEW, TYPED | {"is_active": "on"}).headers["Location"] == LIST
    make_room(site="Harbour")
    page = client.get(LIST).content.decode()
    assert "020 7946 0123" in page
    assert [site.room_count for site in client.get(LIST).context["sites"]] == [1]
    assert AuditEvent.objects.get(action="site.saved").actor == owner


def test_two_names_that_differ_in_capitals_alone_are_refused(signed_in, owner):
    client = signed_in(owner)
    client.post(NEW, TYPED | {"is_active": "on"})
    for name in ("Harbour", "HARBOUR"):
        answer = client.post(NEW, TYPED | {"name": name})
        assert answer.status_code == 422
        assert answer.context["form"].errors["name"] == ["There is a site of this name already."]
    answer = client.post(NEW, TYPED | {"name": ""})
    assert answer.context["form"].errors["name"] == ["Site is required."]
    answer = client.post(NEW, TYPED | {"name": "Hill", "phone": "call us"})
    assert answer.context["form"].errors["phone"] == [
        "Type a telephone number, such as 020 7946 0123."
    ]
    assert Site.objects.count() == 1


def test_a_site_is_retired_once_nobody_works_there(signed_in, owner, injector):
    site = Site.objects.create(name="Harbour")
    time = make_working_time(injector, site)
    client = signed_in(owner)
    answer = client.post(edit_url(site), TYPED)
    (words,) = answer.context["form"].errors["is_active"]
    assert words.startswith("Ida Injector works here on Mondays.")
    assert Site.objects.get().is_active
    time.delete()
    assert client.post(edit_url(site), TYPED).status_code == 302
    assert "no longer in use" in client.get(LIST).content.decode()


def test_an_unknown_site_is_not_found_and_an_injector_changes_none(signed_in, owner, injector):
    assert signed_in(owner).get(reverse("site-edit", args=[99999])).status_code == 404
    assert signed_in(injector).post(NEW, TYPED).status_code == 403
