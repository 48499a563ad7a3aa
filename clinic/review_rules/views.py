"""The rules for reviews and the ranges of effect, kept by the practice owner."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy, holidays_of, review_rule
from clinic.review_rules.errors import DurationTaken, RuleTaken
from clinic.review_rules.forms import DurationForm, RuleForm
from clinic.review_rules.models import EffectDuration, ReviewRule
from clinic.review_rules.services import remove_duration, save_duration, save_rule
from planning.durations import PUBLISHED
from planning.public_holidays import countries, parts_of
from planning.sources import FOLD_FILLER_SCORES


@allow(Role.OWNER)
@require_GET
def rule_list(request):
    """All rules, the general one last, and how long effects last."""
    policy = current_policy()
    calendar = holidays_of(policy)
    context = {
        "rules": ReviewRule.objects.order_by("-is_active", "kind", "group", "event", "id"),
        "policy": policy,
        "general": review_rule(policy),
        "country": countries()[calendar.country] if calendar else "",
        "part": parts_of(calendar.country).get(calendar.subdivision, "") if calendar else "",
        "durations": EffectDuration.objects.all(),
        "published": PUBLISHED,
        "fold_scores": FOLD_FILLER_SCORES,
    }
    return render(request, "review_rules/list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_create(request):
    return _rule_form(request, ReviewRule())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def rule_edit(request, pk):
    return _rule_form(request, get_object_or_404(ReviewRule, pk=pk))


def _rule_form(request, rule):
    form = RuleForm(request.POST or None, instance=rule)
    if request.method == "POST" and form.is_valid():
        try:
            rule = save_rule(rule=form.save(commit=False), actor=request.user)
        except RuleTaken as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"The rule “{rule}” is saved. Open reviews keep their dates.")
            return redirect("review-rule-list")
    return _form_page(request, form, "review_rules/rule_form.html")


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def duration_create(request):
    return _duration_form(request, EffectDuration())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def duration_edit(request, pk):
    return _duration_form(request, get_object_or_404(EffectDuration, pk=pk))


def _duration_form(request, duration):
    form = DurationForm(request.POST or None, instance=duration)
    if request.method == "POST" and form.is_valid():
        try:
            save_duration(duration=form.save(commit=False), actor=request.user)
        except DurationTaken as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The range is saved.")
            return redirect("review-rule-list")
    return _form_page(request, form, "review_rules/duration_form.html")


@allow(Role.OWNER)
@require_POST
def duration_remove(request, pk):
    remove_duration(duration=get_object_or_404(EffectDuration, pk=pk), actor=request.user)
    messages.success(request, "The range is removed.")
    return redirect("review-rule-list")


def _form_page(request, form, template):
    status = 422 if form.errors else 200
    context = {"form": form, "is_new": form.instance.pk is None}
    return render(request, template, context, status=status)
