"""The form of the clinic's protocol: whom to call, and its steps."""

from typing import cast

from django import forms

from clinic.database.form_fields import name_what_is_required
from clinic.protocols.models import Protocol, ProtocolStep
from planning.occlusion_protocol import Step

SPARE_ROWS = 2
MOST_STEPS = 40


class ProtocolForm(forms.ModelForm):
    """`seen` is the version that the page showed."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=2**31 - 2)

    class Meta:
        model = Protocol
        fields = [
            "emergency_number", "eye_contact", "help_contact", "reassess_minutes", "what_to_say",
        ]  # fmt: skip
        widgets = {"what_to_say": forms.Textarea(attrs={"rows": 3, "dir": "auto"})}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        minutes = self.fields["reassess_minutes"]
        bounds = "Type a whole number of minutes from 15 to 60."
        minutes.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), bounds)


class StepForm(forms.ModelForm):
    """One step; one that was there and has no title any more is left out."""

    position = forms.IntegerField(
        label="Place",
        required=False,
        min_value=1,
        max_value=999,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), "Type a whole number from 1 to 999."
        ),
    )
    title = forms.CharField(required=False, max_length=120)
    source = forms.CharField(
        required=False, max_length=300, help_text="Who says so: a publication, or the clinic."
    )

    class Meta:
        model = ProtocolStep
        fields = ["position", "title", "text", "source"]
        labels = {"text": "What to do"}
        widgets = {"text": forms.Textarea(attrs={"rows": 3, "dir": "auto"})}

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        if data.get("title") and "source" not in self.errors and not data.get("source"):
            self.add_error("source", "Name the source, or write “clinic policy”.")
        is_new = self.empty_permitted
        if is_new and not data.get("title") and (data.get("text") or data.get("source")):
            self.add_error("title", "Give the step a title, or empty the whole row.")
        return data


class StepRows(forms.BaseFormSet):
    """The steps in the order of their places."""

    def clean(self) -> None:
        if not any(self.errors) and not self.steps:
            raise forms.ValidationError(
                "Keep at least one step: a protocol without one says nothing."
            )

    @property
    def steps(self) -> list[Step]:
        rows = [form.cleaned_data for form in self.forms if form.cleaned_data.get("title")]
        rows.sort(key=lambda row: row.get("position") or 1_000)
        return [Step(row["title"], row["text"], row["source"]) for row in rows]


# The factory's type says BaseFormSet, although it makes what it is given.
StepForms = cast(
    type[StepRows],
    forms.formset_factory(
        StepForm, formset=StepRows, extra=SPARE_ROWS, max_num=MOST_STEPS, absolute_max=MOST_STEPS,
        validate_max=True,
    ),
)  # fmt: skip


def step_forms(steps: tuple[Step, ...]) -> StepRows:
    """One row a step, and some to add more."""
    rows = [
        {"position": place, "title": step.title, "text": step.text, "source": step.source}
        for place, step in enumerate(steps, start=1)
    ]
    return StepForms(initial=rows, prefix="step")
