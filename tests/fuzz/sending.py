"""Sending what was made up, as one person, without leaving a trace in the database."""

import copy
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from django.test import Client

from tests.fuzz.answers import problem_of
from tests.fuzz.report import Report


@contextmanager
def taken_back() -> Iterator[None]:
    """Nothing stored meanwhile is left. The connection stays, as with Django's test client."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    try:
        with transaction.atomic():
            yield
            transaction.set_rollback(True)
    finally:
        for signal in (request_started, request_finished):
            signal.connect(close_old_connections)


class Sender:
    """One person, or nobody, who sends and stays signed in whatever comes of it."""

    def __init__(self, user, report: Report) -> None:
        self.client = Client(raise_request_exception=False, headers={"host": "localhost"})
        if user.is_authenticated:
            self.client.force_login(user)
        self._cookies = copy.deepcopy(self.client.cookies)
        self._report = report

    def send(self, address: str, method: str, sent: Mapping[str, list[str]]) -> None:
        ask = self.client.post if method == "post" else self.client.get
        with taken_back():
            answer = ask(address, dict(sent))
            if answer.streaming:
                answer.close()
        self.client.cookies = copy.deepcopy(self._cookies)
        self._report.note(answer.status_code, f"{method} {address}", problem_of(answer), sent)
