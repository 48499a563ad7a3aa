"""The face of the charting screen on a page of its own, with fingers."""

import json
from pathlib import Path

from django.template.loader import render_to_string
from playwright.sync_api import CDPSession, Page, Route, expect

from records.charting.queries.reference import reference_url
from tests.browser.charting.clinic import POINT, session, unit

SETTINGS = {
    name: POINT[name]
    for name in (
        "unit", "amount", "plane", "technique", "instrument", "gauge", "length_mm", "aspiration",
    )
}  # fmt: skip
DRAWN = "() => [...face.figures.values()].every((figure) => figure.drawing)"
AT = """([view, x, y]) => {
    const figure = face.figures.get(view);
    const { left, top } = figure.root.getBoundingClientRect();
    const at = figure.sight.toPixels({ x_dmm: x * 10, y_dmm: y * 10 });
    return [left + at.x, top + at.y];
}"""


def point(number: int, x_mm: float, y_mm: float, **fields) -> dict:
    """A point as a snapshot has it."""
    return {
        **POINT, "key": f"00000000-0000-4000-8000-{number:012d}", "number": number, "head": None,
        "removed": False, "tapped_at": "", "by": "", "x_dmm": round(x_mm * 10),
        "y_dmm": round(y_mm * 10), "kind": "ha_filler", "measure": "volume", **fields,
    }  # fmt: skip


def tray() -> list[dict]:
    """A syringe, a vial of toxin, and one unit of each other kind."""
    rows = [
        unit(11),
        unit(12, kind="toxin", measure="dose", content=10000, product=2),
        unit(13, kind="other_filler", product=3),
        unit(14, kind="hyaluronidase", measure="dose", content=150000, product=4),
        unit(15, kind="anaesthetic", product=5),
    ]
    kept = {"diluent_ul", "use_before", "opened_at", "shared", "mine_to_put_back", "deviation"}
    return [
        {"unit": {name: row[name] for name in row if name not in kept}}
        | {name: row[name] for name in kept}
        for row in rows
    ]


class FacePage:
    def __init__(self, page: Page) -> None:
        self.page = page
        self.page.route("**/face-page/**", self._serve)

    def open(self, **fields) -> "FacePage":
        """Show a session with these fields."""
        self.given = {
            "reference": reference_url(),
            "session": session(tray=tray(), **fields),
            "settings": SETTINGS,
        }
        self.page.goto("/face-page/")
        expect(self.page.locator("body[data-ready=yes]")).to_be_attached()
        self.page.wait_for_function(DRAWN)
        self.page.evaluate("() => new Promise(requestAnimationFrame)")
        return self

    def _serve(self, route: Route) -> None:
        if route.request.url.endswith(".js"):
            text = Path(__file__).with_name("face_page.js").read_text()
            route.fulfill(body=text, content_type="text/javascript")
            return
        styles = render_to_string("ui/styles.html") + render_to_string("charting/_styles.html")
        given = json.dumps(self.given).replace("<", "\\u003c")
        route.fulfill(
            content_type="text/html",
            body='<!doctype html><html lang="en"><meta charset="utf-8"><title>Face</title>'
            f'<meta name="viewport" content="width=device-width">{styles}'
            '<body class="in-session" data-icons="/static/img/icons.svg">'
            '<div class="shell"><div class="rail"></div>'
            '<div class="shell__main"><header class="bar"></header><main class="page page--full">'
            f'<div class="session">{render_to_string("charting/_session.html")}</div>'
            "</main></div></div><p data-said></p>"
            f'<script type="application/json" id="given">{given}</script>'
            '<script type="module" src="/static/js/menu.js"></script>'
            '<script type="module" src="/face-page/face.js"></script>',
        )

    def run(self, script: str, argument=None):
        return self.page.evaluate(script, argument)

    def at(self, x_mm: float, y_mm: float, view: str = "front") -> tuple[float, float]:
        """Where a place of the chart is on the screen."""
        return tuple(self.run(AT, [view, x_mm, y_mm]))

    def tap(self, x_mm: float, y_mm: float, view: str = "front") -> None:
        self.page.touchscreen.tap(*self.at(x_mm, y_mm, view))

    def show(self, **fields) -> None:
        """As when an answer of the server came."""
        self.run("(fields) => app.show(fields)", fields)

    @property
    def fingers(self) -> "Fingers":
        return Fingers(self.page)

    @property
    def acts(self) -> list[dict]:
        return self.run("() => app.records.map(({ op }) => ({ kind: op.kind, ...op.data }))")

    @property
    def marks(self):
        return self.page.locator(".marks--today [data-point]")

    def says(self, text: str) -> None:
        expect(self.page.locator("[data-said]")).to_contain_text(text)


class Fingers:
    """Several fingers at once, which Playwright's own touchscreen does not have."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.client: CDPSession = page.context.new_cdp_session(page)

    def _send(self, kind: str, places: list[tuple[float, float]], **fields) -> None:
        touches = [{"x": x, "y": y, "id": number, **fields} for number, (x, y) in enumerate(places)]
        event = {"type": f"touch{kind}", "touchPoints": touches}
        self.client.send("Input.dispatchTouchEvent", event)
        # Moves are handed over with the next frame.
        self.page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")

    def down(self, *places: tuple[float, float], **fields) -> None:
        self._send("Start", list(places), **fields)

    def move(self, *places: tuple[float, float]) -> None:
        self._send("Move", list(places))

    def up(self, *left: tuple[float, float]) -> None:
        """All up but those that are left."""
        self._send("End", list(left))
