"""
A process of people, a thread each: `python -m tests.bench.morning.generator`, its orders on stdin.

It ends by the time it was given, after the press that is under way, and writes the samples to
stdout as JSON. It knows neither Django nor the database.
"""

import json
import sys
import time
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from itertools import chain, islice

from tests.bench.morning.lines import AT_ONCE, Browser, Connection, Sample
from tests.bench.morning.people import ROLES, Clinic, Person, Who

# Whatever the pauses come to.
MOST_PRESSES = 1_000


@dataclass(frozen=True, slots=True)
class Orders:
    """`until`: by the clock of `time.monotonic`, which all processes of a machine share."""

    port: int
    until: float
    clinic: Clinic
    people: list[Who]


def read_orders(text: str) -> Orders:
    sent = json.loads(text)
    clinic = Clinic(**sent["clinic"])
    return Orders(sent["port"], sent["until"], clinic, [Who(**one) for one in sent["people"]])


def work(person: Person, until: float) -> list[Sample]:
    """Press after press with pauses; the first pause is cut so that not all begin at once."""
    samples: list[Sample] = []
    time.sleep(person.pause() * person.chance.random())
    for _ in islice(person.presses(), MOST_PRESSES):
        samples += person.browser.finish()
        pause = person.pause()
        if time.monotonic() + pause > until:
            break
        time.sleep(pause)
    return samples


def run(orders: Orders) -> Iterable[Sample]:
    people = [
        ROLES[who.role](who, orders.clinic, Browser(_lines(orders.port), who.session))
        for who in orders.people
    ]
    with ThreadPoolExecutor(len(people)) as pool:
        found = list(pool.map(lambda person: work(person, orders.until), people))
    return chain.from_iterable(found)


def _lines(port: int) -> Sequence[Connection]:
    return [Connection(port) for _ in range(AT_ONCE)]


if __name__ == "__main__":
    json.dump([asdict(sample) for sample in run(read_orders(sys.stdin.read()))], sys.stdout)
