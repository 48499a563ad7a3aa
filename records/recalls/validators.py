"""Rules about one value."""

from django.core.exceptions import ValidationError

LARGEST_MB = 10
LARGEST_NOTICE = LARGEST_MB * 1024 * 1024
# How files of the kinds that are kept begin (ISO 32000-1, 7.5.2; PNG, third edition, 5.2; JFIF).
_KINDS = {
    b"%PDF-": "application/pdf",
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
}


def notice_type(content: bytes) -> str:
    """
    What kind of file it is by its own first bytes, whatever its name says.

    Raises:
        ValidationError: none that is kept, empty, or too large.
    """
    if len(content) > LARGEST_NOTICE:
        raise ValidationError(f"The file is larger than {LARGEST_MB} MB. Scan it more coarsely.")
    for start, kind in _KINDS.items():
        if content.startswith(start):
            return kind
    raise ValidationError("Choose a PDF, JPEG or PNG file: this one is none of them.")
