"""Things broken on purpose, each of which the comparison at the end must find."""

import uuid
from collections.abc import Callable

from tests.chaos.messages import Message
from tests.chaos.tablet import Tablet

EVERY = 2  # spoil every second log operation


class _Counter:
    """Picks every second log operation, and goes on picking it when it is sent again."""

    def __init__(self) -> None:
        self.seen: list[str] = []

    def picks(self, operation: dict) -> bool:
        if operation["kind"] != "log":
            return False
        if operation["id"] not in self.seen:
            self.seen.append(operation["id"])
        return self.seen.index(operation["id"]) % EVERY == EVERY - 1


def acknowledge_unstored(tablets: list[Tablet]) -> None:
    """A server that says "applied" and has stored nothing."""
    counter, proxy = _Counter(), tablets[0].proxy

    def hide(message: Message) -> Message:
        if not message.is_sync:
            return message
        asked = message.json()
        hidden = [each for each in asked["operations"] if counter.picks(each)]
        proxy.hidden = hidden
        kept = [each for each in asked["operations"] if each not in hidden]
        return message.with_json(asked | {"operations": kept})

    def pretend(asked: dict, answer: Message) -> Message:
        said = answer.json()
        more = [
            {"id": each["id"], "outcome": "applied", "message": "", "conflict": None}
            for each in proxy.hidden
        ]
        return answer.with_json(said | {"results": said["results"] + more})

    proxy.tamper, proxy.forge = hide, pretend


def make_up(tablets: list[Tablet]) -> None:
    """A line on which a point is doubled under a new id."""
    counter, doubles = _Counter(), {}

    def double(message: Message) -> Message:
        if not message.is_sync:
            return message
        asked = message.json()
        for each in [each for each in asked["operations"] if counter.picks(each)]:
            twin = doubles.setdefault(each["id"], (str(uuid.uuid4()), str(uuid.uuid4())))
            data = each["data"] | {"key": twin[1]}
            asked["operations"].append(each | {"id": twin[0], "data": data})
        return message.with_json(asked)

    tablets[0].proxy.tamper = double


FORGET = """() => {
  const { queue } = window.charting;
  const put = queue.add.bind(queue);
  let count = 0;
  queue.add = (records, gone) => {
    const kept = records.filter(({ op }) => op.kind !== "log" || (count += 1) % 2);
    kept.length && put(kept, gone);
  };
}"""


def forget(tablets: list[Tablet]) -> None:
    """A tablet whose queue does not get every second point that was logged."""
    tablets[0].spoiled_by = FORGET
    tablets[0].pages[0].evaluate(FORGET)


SPOILS: dict[str, Callable[[list[Tablet]], None]] = {
    "": lambda tablets: None,
    "acknowledge-unstored": acknowledge_unstored,
    "make-up": make_up,
    "forget": forget,
}
