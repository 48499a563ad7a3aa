"""Signing, and addenda."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django import forms
from django.urls import reverse

from clinic.database.form_fields import DayField
from clinic.sign_in.forms import proved
from planning.amounts import format_amount
from planning.review_dates import day_in_words
from planning.vocabulary import Measure
from records.reviews.errors import DayRefused
from records.reviews.models import Review
from records.reviews.queries.dates import open_reviews_of
from records.reviews.services.moving import refuse_day
from records.sessions.enums import Remainder
from records.sessions.models import Addendum, InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.services.signing import remainder_choices


class SignForm(forms.Form):
    """What becomes of each remainder, and the signer's password once more."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        help_text="Your signature: it locks the session under your name.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args, tray: list[SessionUnit], signer, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.signer = signer
        self.open_rows = [row for row in tray if not row.unit.is_empty]
        for row in self.open_rows:
            self.fields[f"unit_{row.unit_id}"] = self._remainder_field(row)

    @staticmethod
    def _remainder_field(row: SessionUnit) -> forms.ChoiceField:
        options = remainder_choices(row)
        left = format_amount(row.unit.remaining, Measure(row.unit.measure), no_break=True)
        return forms.ChoiceField(
            label=f"{left} left in unit {row.unit.label}, {row.unit.lot.product}",
            choices=[(option.value, option.label) for option in options],
            initial=options[0] if len(options) == 1 else None,
            widget=forms.RadioSelect,
            error_messages={"required": f"Say what became of the rest of unit {row.unit.label}."},
        )

    @property
    def remainder_fields(self):
        return [self[f"unit_{row.unit_id}"] for row in self.open_rows]

    def clean_password(self) -> str:
        if not proved(self.signer, self.cleaned_data["password"]):
            raise forms.ValidationError(
                "That is not your password, so nothing was signed. Type it again."
            )
        return ""

    @property
    def remainders(self) -> dict[int, Remainder]:
        return {
            row.unit_id: Remainder(self.cleaned_data[f"unit_{row.unit_id}"])
            for row in self.open_rows
        }


class AddendumForm(forms.ModelForm):
    """
    What is added to a signed session, and why. If it means that the patient is to be seen on
    another day, each open review of the session can be moved with it.
    """

    class Meta:
        model = Addendum
        fields = ["point", "reason", "text"]
        labels = {"point": "About point", "text": "What is added", "reason": "Why"}
        widgets = {"text": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args, session: TreatmentSession, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        point = self.fields["point"]
        point.queryset = InjectionEntry.objects.standing().filter(session=session)  # type: ignore[attr-defined]
        point.empty_label = "The session as a whole"  # type: ignore[attr-defined]
        self.open_reviews = list(open_reviews_of(session))
        for review in self.open_reviews:
            self.fields[_move_field(review)] = DayField(
                label=f"Move the review of {day_in_words(review.due_on)} to",
                required=False,
                help_text="If product, place or day was written down wrong. Empty: it keeps its "
                "day.",
            )
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        # The form stands on the session's page, which takes no POST.
        self.helper.form_action = reverse("addendum-add", args=[session.pk])
        self.helper.layout = Layout(
            Field("point"),
            Field("reason"),
            Field("text"),
            *(Field(_move_field(review)) for review in self.open_reviews),
            Submit("add", "Add to the note", css_class="button button--primary"),
        )

    def clean(self):
        cleaned = super().clean()
        for review in self.open_reviews:
            name = _move_field(review)
            try:
                # Sent twice because the answer was lost, the day is the review's own by now.
                if (day := cleaned.get(name)) and day != review.due_on:
                    refuse_day(review, day)
            except DayRefused as refusal:
                self.add_error(name, str(refusal))
        return cleaned

    @property
    def said(self) -> dict[str, Any]:
        """The addendum and the reviews that move with it, as the service takes them."""
        days = {review: self.cleaned_data[_move_field(review)] for review in self.open_reviews}
        moved = {review: day for review, day in days.items() if day and day != review.due_on}
        return {name: self.cleaned_data[name] for name in self.Meta.fields} | {"moved": moved}


def _move_field(review: Review) -> str:
    return f"review_{review.pk}"
