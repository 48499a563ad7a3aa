"""A document's template as the HTML that is printed."""

from typing import Any

from django.template.loader import render_to_string

from clinic.printing.letters import unprintable, without


def document_html(template: str, context: dict[str, Any]) -> str:
    """
    The template filled in, in the fonts' own letters alone.

    Where a letter had to be left out, `templates/print/base.html` says so on the first page.
    """
    html = render_to_string(template, context)
    missing = unprintable(html)
    if missing:
        html = render_to_string(template, {**context, "letters_are_missing": True})
    return without(missing, html)
