"""The field a signature arrives in."""

from django import forms

from records.signatures.validators import signature_text

_LONGEST = 100_000


class SignatureField(forms.CharField):
    """What was drawn on the pad of templates/signatures/_pad.html; "" where nothing was."""

    widget = forms.HiddenInput

    def __init__(self, **options) -> None:
        super().__init__(max_length=_LONGEST, **options)
        self.error_messages["max_length"] = (
            "That is more than a signature. Clear the pad and sign again."
        )

    def clean(self, value: str | None) -> str:
        return signature_text(super().clean(value))
