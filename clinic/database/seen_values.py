"""Two people change one record at once: neither writes over what the other saved without a word."""

from typing import Any

from crispy_forms.layout import HTML
from django import forms
from django.forms import BoundField
from django.utils.datastructures import MultiValueDict
from django.utils.html import format_html_join
from django.utils.safestring import SafeString
from django.utils.text import normalize_newlines

SEEN = HTML("{{ form.seen }}")
"""For the layout of a form that crispy draws whole."""


class SeenValuesForm(forms.ModelForm):
    """
    A form of a stored row that knows what its page showed.

    The page carries each value as it was shown (`{{ form.seen }}` within the form). Only what
    differs from that counts as changed, so what somebody else saved in another field stays. Where
    both changed one field to something else, it is an error of the field; sent again, the later one
    holds. A request without these values is compared with the row as it is stored now, and so is
    a choice of several of which the page showed none.

    A field that is not of the row, such as a new password, is told by having no initial value.
    """

    def __init__(self, data: dict | None = None, *args, **kwargs) -> None:
        self._sent = data.copy() if data else {}
        super().__init__(self._sent if data else data, *args, **kwargs)
        if self.instance.pk is None:
            return
        for name, field in self.fields.items():
            if name not in self.initial:
                continue
            carried = self[name].html_initial_name in self._sent
            field.show_hidden_initial = carried or not self.is_bound
        if self.is_bound:
            self._follow_what_is_stored()

    def _follow_what_is_stored(self) -> None:
        for bound in self:
            if bound.field.show_hidden_initial and bound.name not in self.changed_data:
                self._show_stored(bound.html_name, bound)
                self._show_stored(bound.html_initial_name, bound)

    @property
    def seen(self) -> SafeString:
        """What the page shows now, as fields that nobody sees."""
        hidden = (one.as_hidden(only_initial=True) for one in self if one.field.show_hidden_initial)
        return format_html_join("", "{}", ((one,) for one in hidden))

    def clean(self) -> dict[str, Any] | None:
        typed = super().clean()
        for bound in self:
            if bound.field.show_hidden_initial and bound.name in self.changed_data:
                self._ask_if_another_changed(bound)
        return typed

    def _ask_if_another_changed(self, bound: BoundField) -> None:
        field, stored = bound.field, _as_sent(self.initial[bound.name])
        hidden, name = field.hidden_widget(), bound.html_initial_name
        seen = _as_sent(hidden.value_from_datadict(self._sent, MultiValueDict(), name))
        if bound.errors or not field.has_changed(stored, seen):
            return
        # What is sent next was typed in the knowledge of it.
        self._show_stored(bound.html_initial_name, bound)
        if field.has_changed(stored, _as_sent(bound.data)):
            self.add_error(
                bound.name,
                f"Somebody changed this from {_in_words(field, seen)} to "
                f"{_in_words(field, stored)} while the page was open. Nothing is saved yet: "
                "correct it, or save again and yours holds.",
            )

    def _show_stored(self, name: str, bound: BoundField) -> None:
        value = bound.field.prepare_value(self.initial[bound.name])
        if isinstance(value, list) and isinstance(self._sent, MultiValueDict):
            self._sent.setlist(name, value)
        else:
            self._sent[name] = "" if value is None else value


def _as_sent(value: Any) -> Any:
    """Text as any page sends it: browsers end a line otherwise than what is stored may, and the
    fields cut off what surrounds it."""
    return normalize_newlines(value).strip() if isinstance(value, str) else value


def _in_words(field: forms.Field, value: Any) -> str:
    """A value, or several, as the page shows it, in quotation marks."""
    shown = field.prepare_value(value)
    several = shown if isinstance(shown, list) else [shown]
    choices = {str(key): label for key, label in getattr(field, "choices", ())}
    words = [str(choices.get(str(one), one)) for one in several if one not in (None, "")]
    return f"“{', '.join(words)}”" if words else "nothing"
