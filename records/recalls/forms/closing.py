"""Closing a case: a word about each open thing, and a signature."""

from collections.abc import Sequence

from django import forms

from clinic.sign_in.forms import proved
from records.recalls.queries.closing import OpenThing


class CloseForm(forms.Form):
    """A field for each open thing, the closing note, and the signer's password once more."""

    note = forms.CharField(
        label="Closing note",
        required=False,
        max_length=4_000,
        help_text="What is to be said of the case as a whole.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    password = forms.CharField(
        label="Your password",
        strip=False,
        help_text="Your signature: it closes the case under your name, for good.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args, things: Sequence[OpenThing], signer, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.signer, self.things = signer, things
        for thing in things:
            self.fields[_name(thing)] = forms.CharField(
                label=thing.title,
                max_length=1_000,
                help_text="Why it stays so.",
                error_messages={"required": "Say why it stays so, or see to it first."},
                widget=forms.Textarea(attrs={"rows": 2}),
            )

    @property
    def open_fields(self):
        return [self[_name(thing)] for thing in self.things]

    def clean_password(self) -> str:
        if not proved(self.signer, self.cleaned_data["password"]):
            raise forms.ValidationError(
                "That is not your password, so nothing was closed. Type it again."
            )
        return ""

    @property
    def explanations(self) -> dict[str, str]:
        return {thing.key: self.cleaned_data[_name(thing)] for thing in self.things}


def _name(thing: OpenThing) -> str:
    return f"open_{thing.key}"
