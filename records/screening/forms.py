"""The questionnaire as it is filled in, its checks, and what the owner writes about it."""

from collections.abc import Mapping
from dataclasses import dataclass

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms
from django.forms import BoundField
from django.utils.text import slugify

from clinic.database.form_fields import name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from planning.screening import Given, Said
from planning.sources import Confidence
from records.patients.enums import AlertKind, AlertLevel
from records.screening.enums import QuestionKind
from records.screening.models import (
    CODE_LENGTH,
    DETAIL_LENGTH,
    Question,
    Questionnaire,
    ScreeningRule,
)
from records.screening.queries import questions_by_section
from records.screening.services.questionnaires import NewQuestion

_CHOICES = [(said.value, said.label) for said in (Said.YES, Said.NO, Said.UNSURE)]
_FULL = "field--full"


@dataclass(frozen=True, slots=True)
class Asked:
    """One question on the page; `said` is None where it is answered in words alone."""

    question: Question
    said: BoundField | None
    detail: BoundField | None


class HistoryFillForm(forms.Form):
    """
    The questions of one questionnaire; `answers` holds what was said once it is valid.

    Args:
        start_from: what stands on the page at first, by the question's code.
    """

    def __init__(
        self, questionnaire: Questionnaire, *args, start_from: Mapping[str, Given], **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self._sections = questions_by_section(questionnaire)
        for _, questions in self._sections:
            for question in questions:
                self._add(question, start_from.get(question.code))

    def _add(self, question: Question, before: Given | None) -> None:
        kind = QuestionKind(question.kind)
        if kind.is_chosen:
            chosen = before.said if before and before.said in dict(_CHOICES) else None
            self.fields[_said(question)] = forms.ChoiceField(
                label=question.words,
                help_text=question.help,
                choices=_CHOICES,
                initial=chosen,
                widget=forms.RadioSelect,
                error_messages={
                    "required": "Please answer this one. If you do not know, choose “Not sure”.",
                    "invalid_choice": "Please choose yes, no or not sure.",
                },
            )
        if kind is not QuestionKind.YES_NO:
            self.fields[_detail(question)] = forms.CharField(
                label="Tell us more" if kind.is_chosen else question.words,
                help_text="" if kind.is_chosen else question.help,
                required=False,
                max_length=DETAIL_LENGTH,
                initial=before.detail if before else "",
                widget=forms.Textarea(attrs={"rows": 2, "dir": "auto", "autocomplete": "off"}),
            )

    @property
    def sections(self) -> list[tuple[str, list[Asked]]]:
        return [(title, [self._asked(one) for one in asked]) for title, asked in self._sections]

    def _asked(self, question: Question) -> Asked:
        said, detail = _said(question), _detail(question)
        return Asked(
            question,
            self[said] if said in self.fields else None,
            self[detail] if detail in self.fields else None,
        )

    @property
    def first_wrong(self) -> str:
        """The place on the page of the first question to put right, or nothing."""
        return next((f"div_{field.auto_id}" for field in self if field.errors), "")

    @property
    def answers(self) -> dict[str, Given]:
        """By code; words to a "no" are left out, for their field was not shown any more."""
        return {
            question.code: self._given(question)
            for _, questions in self._sections
            for question in questions
        }

    def _given(self, question: Question) -> Given:
        detail = (self.cleaned_data.get(_detail(question)) or "").strip()
        if not QuestionKind(question.kind).is_chosen:
            return Given(Said.WRITTEN if detail else Said.NOTHING, detail)
        said = Said(self.cleaned_data[_said(question)])
        return Given(said, "" if said is Said.NO else detail)


def _said(question: Question) -> str:
    return f"said-{question.code}"


def _detail(question: Question) -> str:
    return f"detail-{question.code}"


class CheckForm(forms.Form):
    """The injector's word that the answers were read."""

    note = forms.CharField(
        label="Talked over with the patient",
        required=False,
        max_length=300,
        help_text="May be left empty.",
        widget=forms.TextInput(attrs={"dir": "auto", "autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.add_input(Submit("", "I have read it"))


class QuestionnaireForm(forms.Form):
    """What stands above the questions, and the version that the page showed."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    intro = forms.CharField(
        label="Introduction",
        required=False,
        max_length=1000,
        help_text="The patient reads it first.",
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
    )


class QuestionForm(forms.Form):
    """One question of the owner's page; an empty last one is none."""

    code = forms.CharField(widget=forms.HiddenInput, required=False, max_length=CODE_LENGTH)
    place = forms.IntegerField(
        label="Place", min_value=1, max_value=999, required=False,
        error_messages={
            "invalid": "Type a whole number.", "min_value": "The first place is 1.",
            "max_value": "Type at most 999.",
        },
    )  # fmt: skip
    section = forms.CharField(
        label="Heading", max_length=80,
        error_messages={"required": "Type the heading it stands under."},
    )  # fmt: skip
    words = forms.CharField(
        label="Question", max_length=300, error_messages={"required": "Type the question."},
        widget=forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
    )  # fmt: skip
    help = forms.CharField(label="Explanation", max_length=300, required=False)
    kind = forms.ChoiceField(label="Answered by", choices=QuestionKind.choices())


QuestionForms = forms.formset_factory(
    QuestionForm, extra=1, can_delete=True, max_num=100, absolute_max=100, validate_max=True
)


def questions_as_typed(questionnaire: Questionnaire) -> list[dict]:
    """What the owner's page shows at first."""
    return [
        {"place": row.position} | {name: getattr(row, name) for name in NewQuestion.__slots__}
        for row in questionnaire.questions.all()
    ]


def typed_questions(rows: forms.BaseFormSet) -> list[NewQuestion]:
    """The questions in the order of their places; the formset is valid. A new one gets a code."""
    kept = [
        row.cleaned_data
        for row in rows
        if row.cleaned_data.get("words") and not row.cleaned_data.get("DELETE")
    ]
    kept.sort(key=lambda row: row["place"] or 1000)
    codes = {row["code"] for row in kept}
    questions = []
    for row in kept:
        code = row["code"] or _new_code(row["words"], codes)
        codes.add(code)
        questions.append(NewQuestion(code, row["section"], row["words"], row["help"], row["kind"]))
    return questions


def _new_code(words: str, taken: set[str]) -> str:
    stem = slugify(words)[: CODE_LENGTH - 4].strip("-_").replace("_", "-") or "question"
    number, code = 1, stem
    while code in taken:
        number += 1
        code = f"{stem}-{number}"
    return code


class RuleForm(SeenValuesForm):
    """Which answer raises which alert; `questionnaire` is the one in use."""

    question_code = forms.ChoiceField(label="Question")
    level = forms.ChoiceField(
        choices=AlertLevel.choices(),
        widget=forms.RadioSelect,
        help_text="After a stop the injector writes down why to go on.",
    )
    kind = forms.ChoiceField(
        label="Kind of alert",
        choices=[one for one in AlertKind.choices() if one[0] != AlertKind.NONE_KNOWN],
    )
    backing = forms.ChoiceField(
        label="Known from", choices=Confidence.choices(), initial=Confidence.CLINIC_POLICY
    )

    class Meta:
        model = ScreeningRule
        fields = [
            "question_code", "answer", "level", "kind", "alert_text", "backing", "source",
            "is_active",
        ]  # fmt: skip
        labels = {"answer": "When the answer is", "is_active": "In use"}
        help_texts = {
            "answer": "“Not sure” counts as well: a person asks then.",
            "alert_text": "Short, as it is to stand beside the patient’s name.",
            "is_active": "A rule out of use raises no new alert.",
        }

    def __init__(self, *args, questionnaire, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.fields["answer"].error_messages["required"] = "Choose the answer that raises it."
        asked = [(row.code, row.words) for row in questionnaire.questions.all()]
        code = self.instance.question_code
        if code and code not in dict(asked):
            asked.append((code, f"No longer asked: {code}"))
        self.fields["question_code"].choices = asked
        self._kinds = {row.code: QuestionKind(row.kind) for row in questionnaire.questions.all()}
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN,
            Fieldset("When", Field("question_code", wrapper_class=_FULL), "answer"),
            Fieldset(
                "The alert", Field("level", wrapper_class=_FULL), "kind",
                Field("alert_text", wrapper_class=_FULL),
            ),
            Fieldset("Where it comes from", "backing", Field("source", wrapper_class=_FULL)),
            Field("is_active", wrapper_class=_FULL),
        )  # fmt: skip
        self.helper.add_input(Submit("save", "Save rule"))

    def clean(self):
        cleaned = super().clean()
        kind, answer = self._kinds.get(cleaned.get("question_code")), cleaned.get("answer")
        if kind and answer and kind.is_chosen == (answer == Said.WRITTEN):
            self.add_error(
                "answer",
                "This question is answered by yes or no: choose one of them."
                if kind.is_chosen
                else f"This question is answered in words: choose “{Said.WRITTEN.label}”.",
            )
        named = (Confidence.PUBLISHED, Confidence.SECOND_HAND)
        if cleaned.get("backing") in named and not cleaned.get("source"):
            self.add_error("source", "Name the publication: authors or title, year.")
        return cleaned
