"""A link as a square code (QR code, ISO/IEC 18004) that a telephone reads off a screen."""

import segno
from django.utils.safestring import SafeString, mark_safe

# Light margin of four modules on each side (ISO/IEC 18004, quiet zone).
MARGIN = 4


def code_svg(address: str) -> SafeString:
    """Dark on light in both colour schemes, sized by its style sheet; error correction level M."""
    code = segno.make_qr(address, error="m")
    drawn = code.svg_inline(
        border=MARGIN, omitsize=True, dark="#000", light="#fff", svgclass="code", lineclass=None
    )
    return mark_safe(drawn)  # noqa: S308 (drawn here, from modules alone)
