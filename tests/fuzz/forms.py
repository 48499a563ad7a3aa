"""The forms of the clinic's pages as a browser reads them: where they go and what they hold."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

import lxml.html
from hypothesis import strategies as st

from tests.fuzz.values import any_value, days, moments, numbers, times

BY_KIND = {
    "number": numbers,
    "range": numbers,
    "date": days,
    "time": times,
    "datetime-local": moments,
}
UNTYPED = {"submit", "button", "image", "reset"}
MOST_OF_ONE = 3


@dataclass(frozen=True)
class Field:
    """`values` are those the page offers or holds: of options, radios, what is filled in."""

    name: str
    kind: str
    values: tuple[str, ...]


@dataclass(frozen=True)
class Form:
    """`address` without its query: what stood in it is among the fields."""

    address: str
    method: str
    fields: tuple[Field, ...]

    def __str__(self) -> str:
        return f"{self.method} {self.address}"


def forms_of(url: str, html: str) -> Iterator[Form]:
    """The forms of a page, and what its parts ask by themselves (htmx)."""
    page = lxml.html.document_fromstring(html)
    for form in page.forms:
        method = (form.get("method") or "get").lower()
        target = form.get("hx-post") or form.get("action") or url
        yield _form(url, target, "post" if form.get("hx-post") else method, form)
    for part in page.xpath("//*[@hx-get]"):
        yield _form(url, part.get("hx-get"), "get", part)


def _form(url: str, target: str, method: str, element) -> Form:
    fields: dict[str, Field] = {}
    for one in element.xpath(".//input[@name] | .//select[@name] | .//textarea[@name]"):
        kind = one.get("type", "text") if one.tag == "input" else one.tag
        if kind in UNTYPED or one.get("name") == "csrfmiddlewaretoken":
            continue
        name, known = one.get("name"), fields.get(one.get("name"))
        values = (known.values if known else ()) + tuple(_values(one))
        fields[name] = Field(name, kind, tuple(dict.fromkeys(values))[:40])
    parts = urlsplit(urljoin(url, target))
    for pair in filter(None, parts.query.split("&")):
        name, _, value = pair.partition("=")
        fields.setdefault(name, Field(name, "hidden", (value,)))
    return Form(parts.path, method, tuple(fields.values()))


def _values(element) -> list[str]:
    if element.tag == "select":
        return [option.get("value") or "" for option in element.iter("option")]
    if element.tag == "textarea":
        return [element.text or ""]
    return [element.get("value") or ("on" if element.get("type") == "checkbox" else "")]


def sent_for(form: Form) -> st.SearchStrategy[dict[str, list[str]]]:
    """Values for each field: mostly one, sometimes none or several."""
    return st.fixed_dictionaries({field.name: _sent_of(field) for field in form.fields})


def _sent_of(field: Field) -> st.SearchStrategy[list[str]]:
    offered = st.sampled_from(field.values) if field.values else st.just("")
    fitting = BY_KIND.get(field.kind, offered)
    # What is offered comes most often, so that a form gets past its first field.
    value = st.one_of(offered, offered, offered, fitting, any_value)
    return st.one_of(
        value.map(lambda one: [one]),
        value.map(lambda one: [one]),
        st.lists(value, max_size=MOST_OF_ONE),
    )
