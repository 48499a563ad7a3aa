"""Each form of each page is sent to an address that takes it."""

import copy
import re
from urllib.parse import urljoin, urlsplit

import pytest
from django.db import transaction
from django.test import Client

from tests.browser.every_page import documents
from tests.samples import make_people, make_samples

POSTED = re.compile(r"""<form\b[^>]*\bmethod="post"[^>]*>|\bhx-post="[^"]*\"""", re.IGNORECASE)
ADDRESS = re.compile(r"""(?:\baction|\bhx-post)="([^"]*)\"""")


@pytest.fixture
def people(db):
    return make_people()


def addresses(url: str, html: str) -> set[str]:
    """Where the page's forms go; one that names no address goes to the page's own."""
    found = set()
    for tag in POSTED.findall(html):
        named = ADDRESS.search(tag)
        found.add(urlsplit(urljoin(url, named[1] if named else "")).path)
    return found


def takes_what_is_sent(client: Client, url: str) -> bool:
    """Asks by sending nothing; whatever comes of it is taken back."""
    cookies = copy.deepcopy(client.cookies)
    with transaction.atomic():
        status = client.post(url).status_code
        transaction.set_rollback(True)
    client.cookies = cookies
    return status != 405


def test_each_form_goes_to_an_address_that_takes_it(people):
    samples = make_samples(people)
    asked, lost, files = set(), [], set()
    for person in people.values():
        client = Client()
        client.force_login(person)
        for url, document in documents(person, samples, files):
            for address in addresses(url, document.content.decode()) - asked:
                asked.add(address)
                if not takes_what_is_sent(client, address):
                    lost.append(f"{url} sends to {address}")
    assert not lost, "\n".join(lost)
    assert len(asked) > 40
