"""Input about consents and their texts."""

from datetime import datetime

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import MomentField, name_what_is_required
from planning.consents import Outcome
from records.consents.models import LONGEST_DAYS, ConsentText
from records.consents.queries import TextShown
from records.consents.services import Signing, Talk
from records.consents.supplied import Risk, Wording
from records.patients.models import Patient
from records.signatures.forms import SignatureField

MOST_RISKS = 30
_YES_NO = [("yes", "Yes"), ("no", "No")]
_AUTO = {"dir": "auto", "autocomplete": "off"}


class TalkForm(forms.Form):
    """What is asked about the talk, whatever came of it."""

    discussed_at = MomentField(
        label="Talked about at",
        help_text="The consultation: the cooling-off time counts from then.",
        error_messages={"required": "Say when it was talked about."},
    )
    questions = forms.CharField(
        label="Questions of the patient, and the answers",
        required=False,
        max_length=4_000,
        widget=forms.Textarea(attrs={"rows": 3, **_AUTO}),
    )
    has_capacity = forms.ChoiceField(
        label="Does the patient understand, weigh and decide by themselves?",
        choices=_YES_NO,
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether the patient has the capacity to decide."},
    )
    capacity_note = forms.CharField(
        label="How that was assessed",
        max_length=300,
        help_text="Such as: said the risks back in own words.",
        widget=forms.TextInput(attrs=_AUTO),
        error_messages={"required": "Say how capacity was assessed."},
    )

    def __init__(self, *args, patient: Patient, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.patient = patient

    def clean_discussed_at(self) -> datetime:
        moment = self.cleaned_data["discussed_at"]
        if moment > timezone.now():
            raise forms.ValidationError("This is still to come. Correct day and time.")
        if timezone.localdate(moment) < self.patient.birth_date:
            raise forms.ValidationError("The patient was not born by then.")
        return moment

    @property
    def talk(self) -> Talk:
        data = self.cleaned_data
        return Talk(
            discussed_at=data["discussed_at"],
            questions=data["questions"],
            told_alternatives=data.get("told_alternatives", False),
            told_costs=data.get("told_costs", False),
            has_capacity=data["has_capacity"] == "yes" if data["has_capacity"] else None,
            capacity_note=data["capacity_note"],
        )


class ConsentForm(TalkForm):
    """The talk, the statements one by one, and the signatures, to one version of a text."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=32_767)
    told_alternatives = forms.BooleanField(
        label="Alternatives were talked about, and that nothing need be done",
        error_messages={"required": "Talk about the alternatives, then tick."},
    )
    told_costs = forms.BooleanField(
        label="Costs were talked about, of this and of what may follow",
        error_messages={"required": "Talk about the costs, then tick."},
    )
    signed_name = forms.CharField(
        label="Name of the patient",
        max_length=200,
        widget=forms.TextInput(attrs=_AUTO),
        error_messages={"required": "Write the name of whoever agrees."},
    )
    signature = SignatureField(
        label="Signature of the patient",
        required=False,
        help_text="With a finger or a pen.",
    )
    unsigned_reason = forms.CharField(
        label="Why the patient does not sign here",
        required=False,
        max_length=300,
        help_text="Only if no signature can be drawn. A witness is named then.",
        widget=forms.TextInput(attrs=_AUTO),
    )
    witness_name = forms.CharField(
        label="Name of the witness",
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs=_AUTO),
    )
    witness_signature = SignatureField(label="Signature of the witness", required=False)

    def __init__(self, data=None, *args, text: TextShown, **kwargs) -> None:
        self.has_new_text = data is not None and data.get("version") != str(text.version)
        super().__init__(_for_new_text(data, text) if self.has_new_text else data, *args, **kwargs)
        self.text = text
        self.initial = {
            "version": text.version, "signed_name": self.patient.full_name, **self.initial,
        }  # fmt: skip
        for position, risk in enumerate(text.wording.risks, start=1):
            self.fields[f"risk_{position}"] = forms.BooleanField(
                label=risk.words,
                error_messages={"required": "Read this with the patient, who then ticks it."},
            )

    @property
    def risks(self) -> list[tuple[Risk, forms.BoundField]]:
        """Each statement with its box."""
        rows = enumerate(self.text.wording.risks, start=1)
        return [(risk, self[f"risk_{position}"]) for position, risk in rows]

    def clean_has_capacity(self) -> str:
        if self.cleaned_data["has_capacity"] == "no":
            raise forms.ValidationError(
                "Without capacity nobody can consent here. Go back and record it as not given; "
                "local law says who may decide."
            )
        return self.cleaned_data["has_capacity"]

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        if self.has_new_text:
            raise forms.ValidationError(
                f"The text has changed since this page was opened: version {self.text.version} is "
                "in force. Read it, tick and sign again; what was typed is still there."
            )
        self._ask_for_a_signature(data)
        if data.get("witness_signature") and not data.get("witness_name"):
            self.add_error("witness_name", "Write the name of the witness who signed.")
        return data

    def _ask_for_a_signature(self, data: dict) -> None:
        if "signature" in self.errors:
            return
        if not data["signature"] and not data.get("unsigned_reason"):
            self.add_error("signature", "The patient signs here, or say below why not.")
        elif not data["signature"] and not data.get("witness_name"):
            self.add_error("witness_name", "Without a signature a witness is named.")
        elif data["signature"] and data.get("unsigned_reason"):
            self.add_error("unsigned_reason", "The patient signed: leave this empty.")

    @property
    def ticked(self) -> list[int]:
        count = len(self.text.wording.risks)
        return [each for each in range(1, count + 1) if self.cleaned_data[f"risk_{each}"]]

    @property
    def signing(self) -> Signing:
        names = (
            "signed_name", "signature", "unsigned_reason", "witness_name", "witness_signature",
        )  # fmt: skip
        return Signing(**{name: self.cleaned_data[name] for name in names})


def _for_new_text(data, text: TextShown):
    """What was typed, without what was ticked and signed to another version."""
    kept = data.copy()
    for name in list(kept):
        if name.startswith("risk_") or name in ("signature", "witness_signature"):
            del kept[name]
    kept["version"] = str(text.version)
    return kept


class NotGivenForm(TalkForm):
    """A refusal, or a treatment that the clinic declines."""

    outcome = forms.ChoiceField(
        label="What came of it",
        choices=[(each.value, each.label) for each in Outcome if each is not Outcome.GIVEN],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=300,
        help_text="In the patient’s words, or yours.",
        widget=forms.TextInput(attrs=_AUTO),
        error_messages={"required": "Say why: the record keeps the reason."},
    )

    def __init__(self, *args, back: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.back = back
        for name in ("has_capacity", "capacity_note"):
            self.fields[name].required = False
        self.helper = _helper(
            "outcome", "reason", "discussed_at", "questions", "has_capacity", "capacity_note",
            label="Keep in the record",
        )  # fmt: skip


class WithdrawForm(forms.Form):
    reason = forms.CharField(
        label="What the patient says",
        max_length=300,
        help_text="Or that no reason was given: none is needed.",
        widget=forms.TextInput(attrs=_AUTO),
        error_messages={"required": "Write down what the patient says, or that nothing was said."},
    )

    def __init__(self, *args, back: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.back = back
        self.helper = _helper("reason", label="Withdraw the consent")


def _helper(*fields: str, label: str) -> FormHelper:
    helper = FormHelper()
    helper.attrs = {"data-once": ""}
    actions = HTML(f'{{% include "consents/_form_actions.html" with label="{label}" %}}')
    helper.layout = Layout(*(Field(name) for name in fields), actions)
    return helper


class TextForm(forms.ModelForm):
    """A text as the owner writes it; `version` is the one that the page showed."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=32_767)
    valid_days = forms.IntegerField(
        label="Holds for",
        min_value=1,
        max_value=LONGEST_DAYS,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"),
            f"Type a whole number of days from 1 to {LONGEST_DAYS:,}.",
        ),
    )

    class Meta:
        model = ConsentText
        fields = ["title", "body", "valid_days"]
        labels = {"body": "What the patient is told"}
        widgets = {"body": forms.Textarea(attrs={"rows": 10, "dir": "auto"})}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)

    def wording(self, risks: tuple[Risk, ...]) -> Wording:
        data = self.cleaned_data
        return Wording(data["title"], data["body"], data["valid_days"], risks)


class RiskForm(forms.Form):
    """One statement; an empty row is none."""

    words = forms.CharField(
        label="Statement",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
    )
    source = forms.CharField(
        label="Source",
        required=False,
        max_length=300,
        widget=forms.TextInput(attrs={"dir": "auto"}),
    )

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        if data.get("source") and not data.get("words") and "words" not in self.errors:
            self.add_error("words", "Write the statement that this is the source of.")
        return data


class RiskRows(
    forms.formset_factory(  # type: ignore[misc]
        RiskForm, extra=1, max_num=MOST_RISKS, absolute_max=MOST_RISKS, validate_max=True
    )
):
    """The statements in the order of the rows; at least one."""

    def clean(self) -> None:
        if not any(self.errors) and not self.risks:
            raise forms.ValidationError("Write at least one statement that is read and ticked.")

    @property
    def risks(self) -> tuple[Risk, ...]:
        rows = [row.cleaned_data for row in self.forms]
        return tuple(Risk(row["words"], row["source"]) for row in rows if row.get("words"))
