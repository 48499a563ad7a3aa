"""A kept signature as a drawing, the same on screen and on paper."""

from django.utils.html import format_html
from django.utils.safestring import SafeString

from records.signatures.validators import HEIGHT, WIDTH, Stroke, strokes_of


def signature_svg(text: str, title: str) -> SafeString:
    """
    The drawing, in the colour of the text around it; nothing where nobody signed.

    Args:
        title: what is read aloud, "Signature of the patient".
    """
    if not text:
        return SafeString("")
    return format_html(
        '<svg xmlns="http://www.w3.org/2000/svg" class="autograph" viewBox="0 0 {} {}" role="img">'
        '<title>{}</title><path d="{}" fill="none" stroke="currentColor" stroke-width="3" '
        'stroke-linecap="round" stroke-linejoin="round"/></svg>',
        WIDTH,
        HEIGHT,
        title,
        " ".join(map(_line, strokes_of(text))),
    )


def _line(stroke: Stroke) -> str:
    """A path through the points; a single one is a dot."""
    first, *rest = (f"{x} {y}" for x, y in stroke)
    return f"M{first}{''.join(f'L{point}' for point in rest) or 'h0'}"
