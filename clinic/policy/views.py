"""The policy page: settings, a worked example of the review rule, closures."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.errors import PolicyError
from clinic.policy.forms import ClosureForm, PolicyForm
from clinic.policy.models import Closure
from clinic.policy.queries import current_policy, holidays_ahead, review_example
from clinic.policy.services import add_closure, change_closure, remove_closure, save_policy
from planning.review_dates import ReviewDateError


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def policy_edit(request):
    form = PolicyForm(request.POST or None, instance=current_policy())
    if request.method == "POST" and form.is_valid():
        policy = form.save(commit=False)
        try:
            if form.goes_through(lambda: save_policy(policy=policy, actor=request.user)):
                messages.success(request, "The policy is saved.")
                return redirect("policy-edit")
        except PolicyError as error:
            form.add_error(None, str(error))
    return _page(request, form)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def closure_list(request):
    """The closures that are not over, and the form that adds one."""
    form = ClosureForm(request.POST or None)
    if request.method == "POST" and _is_saved(form, add_closure, request.user):
        messages.success(request, "The closure is added.")
        return redirect("closure-list")
    today, policy = timezone.localdate(), current_policy()
    context = {
        "form": form,
        "closures": Closure.objects.filter(ends_on__gte=today),
        "holidays": holidays_ahead(policy, today),
        "keeps_holidays": bool(policy.holiday_country),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "policy/closure_list.html", context, status=status)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def closure_edit(request, pk):
    form = ClosureForm(request.POST or None, instance=get_object_or_404(Closure, pk=pk))
    if request.method == "POST" and _is_saved(form, change_closure, request.user):
        messages.success(request, "The closure is saved.")
        return redirect("closure-list")
    status = 422 if request.method == "POST" else 200
    return render(request, "policy/closure_form.html", {"form": form}, status=status)


def _is_saved(form, save, actor) -> bool:
    """Whether the closure could be stored; what is wrong stands in the form otherwise."""
    if not form.is_valid():
        return False
    try:
        save(closure=form.save(commit=False), actor=actor)
    except PolicyError as error:
        form.add_error(None, str(error))
        return False
    return True


@allow(Role.OWNER)
@require_POST
def closure_remove(request, pk):
    remove_closure(closure=get_object_or_404(Closure, pk=pk), actor=request.user)
    messages.success(request, "The closure is removed.")
    return redirect("closure-list")


def _page(request, form):
    today = timezone.localdate()
    try:
        example = review_example(current_policy(), today)
    except ReviewDateError as error:
        example, problem = None, str(error)
    else:
        problem = ""
    context = {
        "form": form,
        "next_closure": Closure.objects.filter(ends_on__gte=today).first(),
        "today": today,
        "example": example,
        "problem": problem,
    }
    return render(request, "policy/policy_edit.html", context)
