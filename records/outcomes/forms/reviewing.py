"""What is asked at a review, and of the patient alone."""

import uuid
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from planning.atlas.regions import NAMES, Region
from planning.outcomes import LEAST_SATISFIED, MOST_SATISFIED, Improvement, Rater, TopUp
from records.outcomes.enums import PatientAnswer
from records.outcomes.models import OwnAnswers
from records.outcomes.services.recording import Seen
from records.reviews.models import Review

_WIDE = "field--full"
_GRADES = [(str(grade.number), f"{grade.number} {grade.label}") for grade in Improvement]
_GRADES_IN_WORDS = [(str(grade.number), grade.label) for grade in Improvement]
_STEPS = [(str(step), str(step)) for step in range(LEAST_SATISFIED, MOST_SATISFIED + 1)]
EVENT_HELP = (
    "Ask for pain, lumps, swelling, a change of colour, weakness, sight, swallowing and breathing. "
    "Yes leads to its form."
)


def _grade_field(region: Region, choices: list[tuple[str, str]], **options) -> forms.Field:
    return forms.TypedChoiceField(
        choices=choices, coerce=lambda number: Improvement.of(int(number)), empty_value=None,
        widget=forms.RadioSelect, **options,
    )  # fmt: skip


def _satisfaction_field(choices: list[tuple[str, str]], **options) -> forms.Field:
    return forms.TypedChoiceField(
        choices=choices, coerce=int, empty_value=None, required=False,
        widget=forms.RadioSelect, **options,
    )  # fmt: skip


def _name(rater: Rater, region: Region) -> str:
    return f"{rater}-{region}"


class ReviewForm(forms.Form):
    """
    Everything the injector writes down of one review; `seen` is it all, once the form is valid.

    Args:
        regions: the treated ones.
        answers: what the patient answered alone on the tablet, which is then asked no more.
        is_again: the review has a record already.
    """

    key = forms.UUIDField(widget=forms.HiddenInput, required=False)
    seen_on = DayField(label="Seen on")
    seen = forms.CharField(
        label="What was seen",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4, "dir": "auto"}),
        help_text="Result, symmetry, skin, and what the patient told.",
    )
    has_event = forms.TypedChoiceField(
        label="Anything that may be an adverse event?",
        choices=[("no", "No, asked and none"), ("yes", "Yes")],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
        help_text=EVENT_HELP,
    )
    top_up = forms.ChoiceField(label="Top-up", choices=TopUp.choices(), widget=forms.RadioSelect)
    why_again = forms.CharField(
        label="Why it is written again",
        max_length=300,
        help_text="The record of before stays to be read.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
    )

    def __init__(
        self,
        *args,
        review: Review,
        regions: Sequence[Region],
        answers: OwnAnswers | None,
        is_again: bool,
        back: str,
        **kwargs,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.review, self.regions, self.answers, self.back = review, regions, answers, back
        self.initial.setdefault("key", uuid.uuid4())
        self.fields["seen_on"].initial = timezone.localdate()
        if not is_again:
            del self.fields["why_again"]
        for region in regions:
            self._add(Rater.INJECTOR, region, _GRADES)
        if answers is None:
            for region in regions:
                asked = [("", "Not asked"), *_GRADES_IN_WORDS]
                self._add(Rater.PATIENT, region, asked, required=False)
            self.fields["satisfaction"] = _satisfaction_field(
                [("", "Not asked"), *_STEPS],
                label="Satisfaction",
                help_text="0 not at all, 10 fully satisfied.",
            )
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = self._layout()

    def _add(self, rater: Rater, region: Region, choices, **options) -> None:
        self.fields[_name(rater, region)] = _grade_field(
            region, choices, label=region.full_label, **options
        )

    def _layout(self) -> Layout:
        def wide(*names: str, how: str = "") -> list[Field]:
            wrapper = f"{_WIDE} {how}".strip()
            return [Field(name, wrapper_class=wrapper) for name in names if name in self.fields]

        def graded(rater: Rater) -> list[Field]:
            return wide(*(_name(rater, region) for region in self.regions), how="grades")

        by_injector = graded(Rater.INJECTOR)
        patient = [
            HTML('{% include "outcomes/_hand_over.html" %}'),
            *graded(Rater.PATIENT),
            *wide("satisfaction", how="zero-to-ten"),
        ]
        if self.answers is not None:
            patient = [HTML('{% include "outcomes/_own_answers.html" %}')]
        rated = [Fieldset("Your judgement", *by_injector)] if by_injector else []
        return Layout(
            "key",
            Fieldset("What you saw", "seen_on", *wide("why_again", "seen")),
            *rated,
            Fieldset("The patient’s judgement", *patient),
            Fieldset("What follows", *wide("has_event", "top_up")),
            HTML('{% include "outcomes/_form_actions.html" %}'),
        )

    def clean_seen_on(self) -> date:
        day = self.cleaned_data["seen_on"]
        treated = timezone.localdate(self.review.session.started_at)
        if day > timezone.localdate():
            raise forms.ValidationError("This day is still to come.")
        if day < treated:
            raise forms.ValidationError(
                f"The treatment was on {treated:%-d %B %Y}: a review of it was not before."
            )
        return day

    def _grades(self, rater: Rater) -> dict[Region, Improvement]:
        given = {region: self.cleaned_data.get(_name(rater, region)) for region in self.regions}
        return {region: grade for region, grade in given.items() if grade is not None}

    @property
    def sent_key(self) -> uuid.UUID:
        return self.cleaned_data["key"] or self.initial["key"]

    @property
    def typed(self) -> dict[str, str]:
        """Each field as it was typed, right or wrong; nothing where all is as the page came."""
        if not set(self.changed_data) - {"key"}:
            return {}
        sent = {name: self.data.get(name, "") for name in self.fields if name != "key"}
        # A letter that no database of ours keeps.
        return {name: text.replace("\0", "") for name, text in sent.items() if text}

    @property
    def what(self) -> Seen:
        data = self.cleaned_data
        by_patient, satisfaction = self._grades(Rater.PATIENT), data.get("satisfaction")
        how = PatientAnswer.NONE
        if self.answers is not None:
            how = PatientAnswer.TABLET
            by_patient, satisfaction = self.answers.given, self.answers.satisfaction
        elif by_patient or satisfaction is not None:
            how = PatientAnswer.ASKED
        return Seen(
            seen_on=data["seen_on"],
            seen=data["seen"],
            has_event=data["has_event"],
            top_up=TopUp(data["top_up"]),
            patient_answer=how,
            by_injector=self._grades(Rater.INJECTOR),
            by_patient=by_patient,
            satisfaction=satisfaction,
            own_answers=self.answers,
            why_again=data.get("why_again", ""),
        )


class PatientForm(forms.Form):
    """The patient's own page: a word for each region, and how satisfied."""

    key = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, regions: Iterable[Region], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("key", uuid.uuid4())
        self.regions = list(regions)
        for region in self.regions:
            trade = NAMES[region].trade
            self.fields[_name(Rater.PATIENT, region)] = _grade_field(
                region, [*_GRADES_IN_WORDS, ("", "I cannot say")], required=False,
                label=f"{trade[:1].upper()}{trade[1:]}",
            )  # fmt: skip
        self.fields["satisfaction"] = _satisfaction_field(
            [*_STEPS, ("", "I cannot say")],
            label="How satisfied are you with the result?",
            help_text="0 not at all, 10 fully satisfied.",
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors and all(data[name] is None for name in data if name != "key"):
            raise forms.ValidationError("Please answer at least one question, or give it back.")
        return data

    @property
    def grades(self) -> dict[Region, Improvement]:
        given = {region: self.cleaned_data[_name(Rater.PATIENT, region)] for region in self.regions}
        return {region: grade for region, grade in given.items() if grade is not None}

    @property
    def sent_key(self) -> uuid.UUID:
        return self.cleaned_data["key"] or self.initial["key"]
