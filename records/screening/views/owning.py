"""The practice owner's questions and rules."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from records.screening.errors import ScreeningError
from records.screening.forms import (
    QuestionForms,
    QuestionnaireForm,
    RuleForm,
    questions_as_typed,
    typed_questions,
)
from records.screening.models import Questionnaire, ScreeningRule
from records.screening.queries import questionnaire_in_use, questions_by_section, rules_by_code
from records.screening.services.questionnaires import (
    change_questions,
    save_rule,
    take_up_supplied,
)


@allow(Role.OWNER)
@require_GET
def question_list(request: HttpRequest) -> HttpResponse:
    """The questions in use, each with its rules."""
    questionnaire = questionnaire_in_use()
    context: dict = {"questionnaire": questionnaire}
    if questionnaire:
        rules = rules_by_code()
        sections = questions_by_section(questionnaire)
        context["sections"] = [
            (title, [(question, rules.pop(question.code, [])) for question in questions])
            for title, questions in sections
        ]
        context["left_over"] = [rule for found in rules.values() for rule in found]
    return render(request, "screening/questions.html", context)


def _no_questions_yet(request: HttpRequest) -> HttpResponse:
    return render(request, "screening/questions.html", {"questionnaire": None})


@allow(Role.OWNER)
@require_POST
def questions_take_up(request: HttpRequest) -> HttpResponse:
    """Start from the supplied questions and rules."""
    take_up_supplied(actor=request.user)
    return redirect("screening-questions")


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def questions_edit(request: HttpRequest) -> HttpResponse:
    """All questions on one page; what is saved is another version."""
    questionnaire = questionnaire_in_use()
    if questionnaire is None:
        return _no_questions_yet(request)
    is_sent = request.method == "POST"
    head = QuestionnaireForm(
        request.POST if is_sent else None,
        initial={"version": questionnaire.version, "intro": questionnaire.intro},
    )
    rows = QuestionForms(
        request.POST if is_sent else None,
        initial=questions_as_typed(questionnaire),
        prefix="questions",
    )
    is_valid = is_sent and all([head.is_valid(), rows.is_valid()])
    if is_valid and _is_saved(request, head, rows, questionnaire):
        return redirect("screening-questions")
    status = 422 if is_sent else 200
    context = {"head": head, "rows": rows, "questionnaire": questionnaire}
    return render(request, "screening/questions_edit.html", context, status=status)


def _is_saved(
    request: HttpRequest, head: QuestionnaireForm, rows, questionnaire: Questionnaire
) -> bool:
    if head.cleaned_data["version"] not in (None, questionnaire.version):
        head.data = {**dict(head.data.items()), "version": str(questionnaire.version)}
        head.add_error(
            None,
            f"Somebody put {str(questionnaire).lower()} in use while the page was open. Nothing is "
            "saved yet: save again and yours takes its place.",
        )
        return False
    try:
        made = change_questions(
            intro=head.cleaned_data["intro"], questions=typed_questions(rows), actor=request.user
        )
    except ScreeningError as error:
        head.add_error(None, str(error))
        return False
    messages.success(request, f"{made} is in use. Histories keep the questions they were asked by.")
    return True


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_create(request: HttpRequest) -> HttpResponse:
    return _rule_form(request, ScreeningRule())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _rule_form(request, get_object_or_404(ScreeningRule, pk=pk))


def _rule_form(request: HttpRequest, rule: ScreeningRule) -> HttpResponse:
    questionnaire = questionnaire_in_use()
    if questionnaire is None:
        return _no_questions_yet(request)
    form = RuleForm(request.POST or None, instance=rule, questionnaire=questionnaire)
    if request.method == "POST" and form.is_valid():
        try:
            save_rule(rule=form.save(commit=False), actor=request.user)
        except ScreeningError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The rule is saved. Alerts that were raised stay.")
            return redirect("screening-questions")
    context = {"form": form, "is_new": rule.pk is None, "rule": rule}
    status = 422 if form.errors else 200
    return render(request, "screening/rule_form.html", context, status=status)
