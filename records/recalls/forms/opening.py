"""The notice of a recall, or the lot of a drill."""

from datetime import date, datetime, timedelta

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row
from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from clinic.database.form_fields import DayField, MomentField, name_what_is_required
from planning.recall_checks import Level
from planning.sources import RECALL_EFFECTIVENESS
from records.recalls.enums import RecallClass
from records.recalls.models import RecallCase
from records.recalls.validators import LARGEST_MB, notice_type

# Where the maker sits it may be tomorrow already.
DATELINE = timedelta(days=1)
# A longer notice comes as a file.
LONGEST_TEXT = 10_000
KINDS = ".pdf,.jpg,.jpeg,.png,application/pdf,image/jpeg,image/png"
CHOOSE_AGAIN = "Choose the file once more: browsers do not send it again by themselves."


class NoticeFileField(forms.FileField):
    """A PDF, JPEG or PNG file; cleaned to its name and content, or None."""

    widget = forms.ClearableFileInput(attrs={"accept": KINDS})

    def __init__(self, **options) -> None:
        options.setdefault("help_text", f"PDF, JPEG or PNG, up to {LARGEST_MB} MB.")
        super().__init__(**options)

    def clean(self, data, initial=None) -> tuple[str, bytes] | None:
        file = super().clean(data, initial)
        if not isinstance(file, UploadedFile):
            return None
        content = file.read()
        notice_type(content)
        return file.name or "notice", content


class FileForm(forms.Form):
    """A file added to the notice of an open case."""

    file = NoticeFileField(
        label="The notice as it came",
        error_messages={"required": "Choose the file."},
    )

    def __init__(self, *args, was_too_large: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if was_too_large:
            self.fields["file"].error_messages["required"] = (
                f"The file is larger than {LARGEST_MB} MB."
            )


class NoticeForm(forms.ModelForm):
    """
    What the notice says. A drill asks for less: nobody wrote a letter, and nobody is checked.

    A file that was chosen is lost when the form comes back; then it says so.
    """

    recall_class = forms.ChoiceField(
        label="Class",
        choices=RecallClass.choices(),
        initial=RecallClass.NOT_STATED,
        widget=forms.RadioSelect,
        help_text="As the notice states it; I is the most serious (21 CFR 7.3(m)).",
    )
    notice_on = DayField(label="Date of the notice")
    received_at = MomentField(
        label="Received", help_text="The stopwatch starts here, by the clinic's clock."
    )
    level = forms.ChoiceField(
        label="Effectiveness check",
        choices=[(level.name, level.label) for level in Level],
        initial="A",
        help_text=f"Whose getting the message is checked. Source: {RECALL_EFFECTIVENESS}. Of "
        "what stays in the body only A makes sense.",
    )
    level_percent = forms.IntegerField(
        label="Per cent, for B",
        required=False,
        min_value=11,
        max_value=99,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), "Type a whole per cent from 11 to 99."
        ),
    )
    expected_end_on = DayField(
        label="Expected end", required=False, help_text="When everybody will have been reached."
    )
    text = forms.CharField(
        label="What it says",
        max_length=LONGEST_TEXT,
        help_text="In the maker's own words: what is wrong, what is to be done.",
        widget=forms.Textarea(attrs={"rows": 5}),
        error_messages={
            "max_length": f"At most {LONGEST_TEXT:,} characters: type what matters, and add the "
            "notice as a file."
        },
    )
    file = NoticeFileField(label="The notice as it came", required=False)

    class Meta:
        model = RecallCase
        fields = [
            "maker", "reference", "recall_class", "notice_on", "received_at", "text", "level",
            "level_percent", "expected_end_on",
        ]  # fmt: skip

    def __init__(self, *args, is_drill: bool, was_too_large: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.is_drill = self.instance.is_drill = is_drill
        self.was_too_large = was_too_large
        if is_drill:
            for name in ("recall_class", "level", "level_percent", "expected_end_on", "file"):
                del self.fields[name]
        name_what_is_required(self)

    @property
    def helper(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        helper.form_error_title = (
            "The drill has not begun: please look at the marked fields."
            if self.is_drill
            else "Not open yet, and nothing is stopped: please look at the marked fields."
        )
        if self.is_drill:
            parts = [Row("maker", "reference"), Row("notice_on", "received_at"), Field("text")]
        else:
            parts = [
                Row("maker", "reference"),
                Field("recall_class"),
                Row("notice_on", "received_at"),
                Field("text"),
                Field("file"),
                Fieldset(
                    "How it is followed up",
                    Field("level", wrapper_class="field--full"),
                    "level_percent",
                    "expected_end_on",
                ),
            ]  # fmt: skip
        helper.layout = Layout(*parts)
        return helper

    def clean_received_at(self) -> datetime:
        received_at = self.cleaned_data["received_at"]
        if received_at > timezone.now():
            raise ValidationError("That is still to come. Type when the notice came in.")
        return received_at

    def clean_notice_on(self) -> date:
        notice_on = self.cleaned_data["notice_on"]
        if notice_on > timezone.localdate() + DATELINE:
            raise ValidationError("That day is still to come. Type the date on the notice.")
        return notice_on

    def clean(self) -> dict:
        cleaned = super().clean() or {}
        notice_on, received_at = cleaned.get("notice_on"), cleaned.get("received_at")
        if notice_on and received_at and timezone.localdate(received_at) < notice_on - DATELINE:
            self.add_error(
                "received_at",
                "The notice cannot have come before its own date. Compare both days with it.",
            )
        level, percent = cleaned.get("level"), cleaned.get("level_percent")
        if level == "B" and percent is None and "level_percent" not in self.errors:
            self.add_error("level_percent", "Level B has a share of its own: type 11 to 99.")
        if level != "B":
            # What was typed for B before another level was chosen.
            cleaned["level_percent"] = None
        if self.was_too_large:
            self.add_error("file", f"The file is larger than {LARGEST_MB} MB.")
        return cleaned

    def ask_for_file_again(self) -> None:
        """The form goes back: say that the chosen file does not go with it."""
        if self.files.get("file") and "file" not in self.errors:
            self.add_error("file", CHOOSE_AGAIN)


class CorrectionForm(NoticeForm):
    """What was written down wrongly of the notice of an open case, and why it is changed."""

    reason = forms.CharField(
        label="Why it is corrected",
        max_length=300,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("file", "expected_end_on"):
            self.fields.pop(name, None)
        # A drill is timed from its own beginning.
        if self.is_drill:
            del self.fields["received_at"]

    @property
    def helper(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        helper.layout = Layout(*(Field(name, wrapper_class="field--full") for name in self.fields))
        return helper

    def clean_received_at(self) -> datetime:
        """The field shows minutes: one that was not touched keeps its seconds."""
        typed, stored = super().clean_received_at(), self.initial["received_at"]
        if typed > self.instance.opened_at:
            raise ValidationError("The case was opened before that. Type when the notice came in.")
        return stored if typed == stored.replace(second=0, microsecond=0) else typed


class EndForm(forms.Form):
    """By when everybody will have been reached."""

    day = DayField(label="Expected end", required=False)
