"""One tab of a tablet that runs the charting screen's data layer without its page."""

from collections.abc import Iterable

from playwright.sync_api import Page

from tests.browser.charting.clinic import POINT

OPEN = """async (reference) => {
    const { Charting } = await import("/static/js/charting/app.js");
    window.app = await Charting.open({ reference });
    await window.app.flush();
}"""
# The acts of one moment, then everything on the disk.
ACT = """async ([kind, key, data, options]) => {
    const op = app.act(kind, key, data, options);
    await app.queue.write();
    return op;
}"""


class Tab:
    """`reference` is the address of the words and drawings; without it they are unknown."""

    def __init__(self, page: Page, reference: str = "") -> None:
        self.page, self.reference = page, reference

    def open(self) -> "Tab":
        self.page.goto("/charting/")
        self.run(OPEN, self.reference)
        return self

    def run(self, script: str, argument=None):
        return self.page.evaluate(script, argument)

    def act(self, kind: str, key: str, data: dict, **options) -> dict:
        return self.run(ACT, [kind, key, data, options])

    def log(self, key: str, point: str, **fields) -> dict:
        return self.act("log", key, POINT | {"key": point} | fields)

    def flush(self) -> None:
        self.run("() => app.flush()")

    def state(self, key: str) -> dict | None:
        return self.run("(key) => app.session(key)", key)

    def points(self, key: str, *names: str) -> list:
        rows = [row for row in self.state(key)["points"] if not row["removed"]]
        return [row[names[0]] if len(names) == 1 else [row[name] for name in names] for row in rows]

    @property
    def waiting(self) -> list[dict]:
        return self.run("() => app.waiting")

    def waits(self) -> list[list[str]]:
        return [[row["op"]["kind"], row["state"]] for row in self.waiting]

    @property
    def contact(self) -> str:
        return self.run("() => app.contact.state")

    def resolve(self, op: dict, choice: str, **extra) -> None:
        script = """async ([id, choice, extra]) => {
            app.resolve(id, choice, extra);
            await app.queue.write();
            await app.flush();
        }"""
        self.run(script, [op["id"], choice, extra])

    def until(self, script: str, argument=None) -> None:
        self.page.wait_for_function(script, arg=argument)


def keys(count: int) -> Iterable[str]:
    return [f"00000000-0000-4000-8000-{number:012d}" for number in range(1, count + 1)]
