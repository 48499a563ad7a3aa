"""Text messages as lines, where CLINIC_DEBUG=yes."""

import sys


class TextMessageLines:
    """CLINIC_SMS=console: a developer reads them; what was printed cannot be asked about."""

    def send(self, *, to: str, text: str, reference: str) -> None:
        sys.stdout.write(f"Text message {reference}\nTo: {to}\n\n{text}\n{'-' * 60}\n")
        sys.stdout.flush()

    def was_sent(self, reference: str) -> bool | None:
        return None
