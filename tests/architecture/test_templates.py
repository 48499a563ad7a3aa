"""
Templates hold what the content policy would drop without a word: this finds it beforehand.

Served pages may run scripts and take styles from our own files only (see CONTENT_SECURITY_POLICY).
"""

from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
# Besides src: what makes the browser fetch something. A link that a person follows is not among it.
LOADING = {("link", "href"), ("use", "href"), ("image", "href")}


class PolicyReader(HTMLParser):
    """Collects breaches as "line: what"; Django's tags pass as text."""

    def __init__(self) -> None:
        super().__init__()
        self.breaches: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        found = []
        if tag == "style":
            found.append("a style element")
        if tag == "script" and "src" not in given and given.get("type") != "application/json":
            found.append("a script in the page")
        for name, value in given.items():
            if name == "style":
                found.append("a style attribute")
            elif name.startswith(("hx-on", "on")):
                found.append(f"an {name} attribute")
            elif name == "hx-trigger" and "[" in value:
                found.append("a filter in hx-trigger, which needs eval")
            elif value.lower().startswith(("js:", "javascript:")):
                found.append(f"script in {name}")
            elif (tag, name) in LOADING or name in {"src", "srcset"}:
                found += [f"another host in {name}"] if "//" in value.split("{", 1)[0] else []
        self.breaches += [f"{self.getpos()[0]}: {breach}" for breach in found]


def breaches_in(html: str) -> list[str]:
    reader = PolicyReader()
    reader.feed(html)
    reader.close()
    return reader.breaches


@pytest.mark.parametrize(
    ("html", "breach"),
    [
        ('<p style="color: red">', "a style attribute"),
        ("<style>p { color: red }</style>", "a style element"),
        ("<script>let here = 1</script>", "a script in the page"),
        ('<button onclick="sign()">', "an onclick attribute"),
        ('<div hx-on:click="sign()">', "an hx-on:click attribute"),
        ('<input hx-trigger="keyup[key==1]">', "a filter in hx-trigger, which needs eval"),
        ("<div hx-vals='js:{a: 1}'>", "script in hx-vals"),
        ('<a href="javascript:sign()">', "script in href"),
        ('<script src="https://else.test/a.js"></script>', "another host in src"),
        ('<link rel="stylesheet" href="//else.test/a.css">', "another host in href"),
    ],
)
def test_each_breach_is_found(html, breach):
    assert breaches_in(f"<p>\n{html}") == [f"2: {breach}"]


@pytest.mark.parametrize(
    "html",
    [
        '<script type="module" src="{% static "js/chart.js" %}"></script>',
        '<script type="application/json">{"a": 1}</script>',
        '<link rel="icon" href="data:,"><a href="https://else.test/">the source</a>',
        '<p class="{% if late %}late{% endif %}" data-onwards="yes">{{ patient.name }}</p>',
        '<circle fill="#fff" stroke-width="1"/>',
    ],
)
def test_what_is_allowed_passes(html):
    assert breaches_in(html) == []


def test_no_template_breaks_the_content_policy():
    assert TEMPLATES, "the templates have moved; this test looks in templates/"
    breaches = {
        str(path.relative_to(ROOT)): found
        for path in TEMPLATES
        if (found := breaches_in(path.read_text(encoding="utf-8")))
    }
    assert breaches == {}
