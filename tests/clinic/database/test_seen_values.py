"""Two people at one record, sending what a browser sends of the page each of them had open."""

import pytest
from django.urls import reverse

from clinic.policy.queries import current_policy
from clinic.sites.models import Site
from tests.factories import make_patient, refreshed
from tests.sent_forms import sent_of

ADDRESS = "27 Mill Road\nLarkstone"


def a_site(_owner):
    site = Site.objects.create(name="Mill Road", address=ADDRESS)
    return site, reverse("site-edit", args=[site.pk])


def the_policy(_owner):
    policy = current_policy()
    policy.address = ADDRESS
    policy.save()
    return policy, reverse("policy-edit")


def a_patient(owner):
    patient = make_patient(owner, address=ADDRESS, phone="020 7946 0123")
    return patient, reverse("patient-edit", args=[patient.pk])


@pytest.mark.parametrize("make", [a_site, the_policy, a_patient])
def test_a_line_is_added_to_an_address_of_several_lines(signed_in, owner, make):
    """Browsers end lines with CRLF, what is stored may end them with LF."""
    row, url = make(owner)
    client = signed_in(owner)
    sent = sent_of(client.get(url).content.decode())
    for last_line in ("Wales", "Wales\r\nUnited Kingdom"):
        answer = client.post(url, sent | {"address": f"{sent['address']}\r\n{last_line}"})
        assert answer.status_code == 302, answer.context["form"].errors
        assert refreshed(row).address.splitlines()[2:] == last_line.splitlines()
        sent = sent_of(client.get(url).content.decode()) | {"address": sent["address"]}


def test_an_address_that_another_changed_meanwhile_is_asked_about(signed_in, owner):
    site, url = a_site(owner)
    client = signed_in(owner)
    sent = sent_of(client.get(url).content.decode())
    Site.objects.update(address="1 Quay\nLarkstone")
    answer = client.post(url, sent | {"address": "2 Quay\r\nLarkstone"})
    assert "Somebody changed this from “27 Mill Road" in answer.context["form"].errors["address"][0]
    again = sent_of(answer.content.decode())
    assert client.post(url, again).status_code == 302
    assert refreshed(site).address.splitlines() == ["2 Quay", "Larkstone"]
