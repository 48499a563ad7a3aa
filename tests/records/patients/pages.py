"""Reading what a page shows."""

import re


def page(response) -> str:
    return response.content.decode()


def value_of(html: str, name: str) -> str:
    """What the input of that name shows."""
    tag = re.search(rf'<input[^>]*name="{name}"[^>]*>', html)[0]
    found = re.search(r'value="([^"]*)"', tag)
    return found[1] if found else ""


def errors_in(html: str) -> list[str]:
    return re.findall(r'class="field__error">.*?<span>(.*?)</span></p>', html, re.DOTALL)
