"""What a browser test looks with: the screens it is shown on, and the watch over its pages."""

from playwright.sync_api import Page

DESK = {"width": 1280, "height": 800}
TABLET = {"width": 1180, "height": 820}
TABLET_UPRIGHT = {"width": 820, "height": 1180}
# For `new_page`: the service worker keeps the charting screen for a time without network.
KEPT = {"service_workers": "allow"}


class PageWatch:
    """What went wrong on a page without the test asking; `problems` is empty when all is well."""

    def __init__(self, page: Page, origin: str) -> None:
        self.problems: list[str] = []
        self.origin = origin
        page.on("console", self._on_console)
        page.on("pageerror", lambda error: self.problems.append(f"script error: {error}"))
        page.on("request", self._on_request)
        page.on("response", self._on_response)

    def _on_console(self, message) -> None:
        if "Content Security Policy" in message.text or "htmx:evalDisallowed" in message.text:
            self.problems.append(f"content policy: {message.text}")

    def _on_request(self, request) -> None:
        if not request.url.startswith((self.origin, "data:", "blob:", "about:")):
            self.problems.append(f"call to another host: {request.url}")

    def _on_response(self, response) -> None:
        if response.status >= 500 or (response.status == 404 and "/static/" in response.url):
            self.problems.append(f"answer {response.status}: {response.url}")
