"""Which part of the list is shown, and what came of a try to reach somebody."""

from typing import Any

from django import forms

from clinic.database.form_fields import MomentField
from clinic.staff.models import User
from planning.follow_up import Kind, Standing, Step, TryOutcome, Way
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome


class FollowUpFilter(forms.Form):
    """What cannot be read is taken as not asked for."""

    standing = forms.ChoiceField(choices=Standing.choices(), required=False)
    kind = forms.ChoiceField(
        label="Kind", required=False, choices=[("", "All kinds"), *Kind.choices()]
    )
    injector = forms.ModelChoiceField(
        User.objects.filter(is_injector=True),
        required=False,
        label="Treated by",
        empty_label="All injectors",
    )
    paper = forms.BooleanField(required=False)

    def __init__(self, *args, clinical: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if not clinical:
            words = dict(Kind.choices()) | {
                Kind.WORRY.value: f"{Step.ASK.label} now",
                Kind.COMPLICATION.value: Step.ASK.label,
            }
            self.fields["kind"].widget.choices = [("", "All kinds"), *words.items()]

    @property
    def chosen(self) -> dict[str, Any]:
        """`standing`, `kind` and `injector_id` of `queries.work_list.follow_up`."""
        self.is_valid()
        data = self.cleaned_data
        injector = data.get("injector")
        return {
            "standing": Standing(data["standing"]) if data.get("standing") else None,
            "kind": Kind(data["kind"]) if data.get("kind") else None,
            "injector_id": injector.pk if injector else None,
        }


class _Said(forms.Form):
    """What both kinds of tries say."""

    way = forms.ChoiceField(choices=Way.choices(), widget=forms.HiddenInput)
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=200,
        help_text="Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean_way(self) -> Way:
        return Way(self.cleaned_data["way"])


class AttemptForm(_Said):
    """A try about a review or after an event; its outcome is the button that is pressed."""

    outcome = forms.ChoiceField(
        choices=TryOutcome.choices(),
        error_messages={"required": "Press the button that says what came of it."},
    )
    again_at = MomentField(
        label="Call again from",
        required=False,
        help_text="Until then the patient waits at the end of the list. With “To be called later” "
        "it is needed.",
    )

    field_order = ["way", "note", "again_at", "outcome"]

    def clean_outcome(self) -> TryOutcome:
        return TryOutcome(self.cleaned_data["outcome"])

    def offered(self, way: Way) -> list[tuple[str, str]]:
        """(value, words) of the buttons, the ones that leave the patient on the list first."""
        order = (
            TryOutcome.NO_ANSWER,
            TryOutcome.MESSAGE_LEFT,
            TryOutcome.LATER,
            TryOutcome.WRONG,
            TryOutcome.REACHED,
        )
        return [(one.value, one.words(way)) for one in order if one.fits(way)]


class RecallAttemptForm(_Said):
    """A try in a recall, in the words of the recall's own books."""

    outcome = forms.ChoiceField(
        choices=ContactOutcome.choices(),
        error_messages={"required": "Press the button that says what came of it."},
    )

    def clean_outcome(self) -> ContactOutcome:
        return ContactOutcome(self.cleaned_data["outcome"])

    def offered(self, way: Way) -> list[tuple[str, str]]:
        channel = Channel(way.value)
        return [(one.value, one.label) for one in ContactOutcome if one.fits(channel)]
