"""What a patient answers, what was done about it, and the owner's words."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django import forms

from clinic.database.form_fields import name_what_is_required
from planning.warning_signs import WarningSign
from records.aftercare.enums import Feeling
from records.aftercare.models import NOTE_LENGTH, AftercareText

_WIDE = "field--full"
_CHOOSE = {"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."}


class CheckInForm(forms.Form):
    """How a patient is; the signs stand below it, so that nothing has to open first."""

    feeling = forms.ChoiceField(
        label="How are you today?",
        choices=Feeling.choices(),
        widget=forms.RadioSelect,
        error_messages=_CHOOSE,
    )
    signs = forms.MultipleChoiceField(
        label="If something worries you: what is it?",
        choices=WarningSign.choices(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(
        label="In your own words",
        required=False,
        max_length=NOTE_LENGTH,
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off", "dir": "auto"}),
        error_messages={
            "max_length": f"That is too long: at most {NOTE_LENGTH} letters. Or please call us."
        },
    )

    def clean_note(self) -> str:
        # One line of plain letters: line ends and control signs have no say on the clinic's list.
        signs = (sign if sign.isprintable() else " " for sign in self.cleaned_data["note"])
        return " ".join("".join(signs).split())

    def clean_signs(self) -> list[WarningSign]:
        return [WarningSign(sign) for sign in self.cleaned_data["signs"]]

    def clean(self) -> dict:
        said = super().clean() or {}
        is_worried = said.get("feeling") == Feeling.WORRIED
        if is_worried and "note" in said and not (said.get("signs") or said["note"]):
            self.add_error("signs", "Tick what worries you, or write it below.")
        return said


class SettleForm(forms.Form):
    """What was done about a worry."""

    done = forms.CharField(
        label="What was done",
        max_length=NOTE_LENGTH,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        help_text="Whom you spoke to, what you advised, what comes next.",
        error_messages={"required": "Say what was done: whom you spoke to, and what comes next."},
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(Field("done", wrapper_class=_WIDE))
        self.helper.add_input(Submit("save", "Dealt with"))


class AftercareTextForm(forms.ModelForm):
    """One thing a line; `written_on` is the version that the page showed."""

    written_on = forms.IntegerField(min_value=0, max_value=30_000, widget=forms.HiddenInput)

    class Meta:
        model = AftercareText
        fields = ["advice", "signs"]
        widgets = {
            "advice": forms.Textarea(attrs={"rows": 12}),
            "signs": forms.Textarea(attrs={"rows": 8}),
        }
        help_texts = {
            "advice": "One thing a line.",
            "signs": "One sign a line, small letters: it follows on “Call us at once if you have”. "
            "Sight, speech and breath stand on every sheet by themselves.",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "written_on", Field("advice", wrapper_class=_WIDE), Field("signs", wrapper_class=_WIDE)
        )
        self.helper.add_input(Submit("save", "Save as a new version"))

    def clean_advice(self) -> str:
        return _lines(self.cleaned_data["advice"])

    def clean_signs(self) -> str:
        return _lines(self.cleaned_data["signs"])


def _lines(typed: str) -> str:
    """Without empty lines and what surrounds each."""
    return "\n".join(line.strip() for line in typed.splitlines() if line.strip())
