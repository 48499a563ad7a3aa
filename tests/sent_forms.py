"""What a browser would send of a page's form, nothing typed yet."""

from html.parser import HTMLParser


def sent_of(page: str) -> dict[str, str | list[str]]:
    """
    The names and values of the page's fields; a list where a name comes several times.

    Lines end as browsers send them, by the HTML standard ("Constructing the entry list", where
    newlines in values become CRLF): https://html.spec.whatwg.org/multipage/form-control-infrastructure.html
    """
    reader = _Reader()
    reader.feed(page)
    sent: dict[str, list[str]] = {}
    for name, value in reader.entries:
        sent.setdefault(name, []).append("\r\n".join(value.splitlines()))
    return {name: values[0] if len(values) == 1 else values for name, values in sent.items()}


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.entries: list[tuple[str, str]] = []
        self._select = self._area = ""

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        name = found.get("name") or ""
        if tag == "select":
            self._select = name
        elif tag == "option" and "selected" in found and self._select:
            self.entries.append((self._select, found.get("value") or ""))
        elif tag == "textarea":
            self._area = name
            self.entries.append((name, ""))
        elif tag == "input" and name and found.get("type") != "submit":
            is_ticked = found.get("type") not in ("checkbox", "radio") or "checked" in found
            if is_ticked:
                self.entries.append((name, found.get("value") or ""))

    def handle_data(self, data):
        if self._area:
            # The line break that the page puts first is not part of the text.
            self.entries[-1] = (self._area, self.entries[-1][1] + data.removeprefix("\n"))

    def handle_endtag(self, tag):
        if tag == "textarea":
            self._area = ""
        elif tag == "select":
            self._select = ""
