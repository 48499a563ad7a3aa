"""Everything that takes input is sent what nobody thought of: forms, addresses, scripts' JSON."""

import re
from collections.abc import Collection, Iterable, Iterator

from django.contrib.auth.models import AnonymousUser
from django.test import Client
from hypothesis import strategies as st

from clinic.staff.models import User
from tests.access_table import TABLE
from tests.browser.every_page import documents
from tests.fuzz.drawn import for_each
from tests.fuzz.forms import Form, forms_of, sent_for
from tests.fuzz.report import Report
from tests.fuzz.scripts import fuzz_scripts
from tests.fuzz.sending import Sender
from tests.fuzz.values import numbers_of_rows
from tests.samples import ROUTES, address, make_people, make_samples

# Of all inputs: to scripts' addresses, to addresses with another number; the rest to forms.
OF_SCRIPTS, OF_NUMBERS = 0.3, 0.05
Page = tuple[User | AnonymousUser, str, str]
"""Who is shown it, its address, its HTML."""
_NUMBER = re.compile(r"/\d+/")


def run(*, seed: int, inputs: int, names: Collection[str] = ()) -> Report:
    """
    Send so many inputs; the same seed makes the same again.

    Args:
        names: of the routes whose forms are sent to; empty for every page there is.
    """
    report = Report(seed)
    people = make_people()
    samples = make_samples(people)
    fuzz_scripts(
        report, user=samples["session"].injector, samples=samples, inputs=int(inputs * OF_SCRIPTS)
    )
    _fuzz_numbers(report, people, samples, int(inputs * OF_NUMBERS))
    left = inputs - report.statuses.total()
    found = _forms(_named(people, samples, names) if names else _every(people, samples))
    for person, form in found:
        _fuzz_form(report, person, form, max(1, left // len(found)))
    return report


def _named(people: dict, samples: dict, names: Collection[str]) -> Iterator[Page]:
    for name in names:
        person, url = people[TABLE[name].roles[0]], address(name, samples)
        client = Client()
        client.force_login(person)
        yield person, url, client.get(url).content.decode()


def _every(people: dict, samples: dict) -> Iterator[Page]:
    """Each page of each role, and those that ask for no sign-in."""
    files: set[str] = set()
    for person in (*people.values(), AnonymousUser()):
        for url, document in documents(person, samples, files):
            yield person, url, document.content.decode()


def _forms(pages: Iterable[Page]) -> list[tuple[User | AnonymousUser, Form]]:
    """Each form once, with somebody who is shown it, as it has the most fields."""
    found: dict[tuple[str, str], tuple[User | AnonymousUser, Form]] = {}
    for person, url, html in pages:
        for form in forms_of(url, html):
            known = found.get((form.method, form.address))
            if known is None or len(known[1].fields) < len(form.fields):
                found[form.method, form.address] = person, form
    return list(found.values())


def _fuzz_form(report: Report, person, form: Form, inputs: int) -> None:
    sender = Sender(person, report)
    for_each(
        lambda sent: sender.send(form.address, form.method, sent),
        inputs=inputs,
        seeded=report.seed,
        sent=sent_for(form),
    )


def _fuzz_numbers(report: Report, people: dict, samples: dict, inputs: int) -> None:
    """Addresses with the number of something that is not there, or is beyond any table."""
    routes = [route.name for route in ROUTES if TABLE[route.name].args.keys() == {"pk"}]
    senders = {role: Sender(person, report) for role, person in people.items()}

    def send(name: str, number: int, method: str) -> None:
        roles = TABLE[name].roles or tuple(senders)
        there = address(name, samples)
        senders[roles[0]].send(_NUMBER.sub(f"/{number}/", there, count=1), method, {})

    for_each(
        send,
        inputs=inputs,
        seeded=report.seed,
        name=st.sampled_from(routes),
        number=numbers_of_rows,
        method=st.sampled_from(["get", "post"]),
    )
