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
from clinic.policy.queries import current_policy, review_example
from clinic.policy.services import add_closure, remove_closure, save_policy
from planning.review_dates import ReviewDateError


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def policy_edit(request):
    form = PolicyForm(request.POST or None, instance=current_policy())
    if request.method == "POST" and form.is_valid():
        try:
            save_policy(policy=form.save(commit=False), actor=request.user)
        except PolicyError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The policy is saved.")
            return redirect("policy-edit")
    return _page(request, form=form)


@allow(Role.OWNER)
@require_POST
def closure_create(request):
    form = ClosureForm(request.POST)
    if form.is_valid():
        try:
            add_closure(closure=form.save(commit=False), actor=request.user)
        except PolicyError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The closure is added.")
            return redirect("policy-edit")
    return _page(request, closure_form=form, status=422)


@allow(Role.OWNER)
@require_POST
def closure_remove(request, pk):
    remove_closure(closure=get_object_or_404(Closure, pk=pk), actor=request.user)
    messages.success(request, "The closure is removed.")
    return redirect("policy-edit")


def _page(request, *, form=None, closure_form=None, status=200):
    today = timezone.localdate()
    policy = current_policy()
    try:
        example = review_example(policy, today)
    except ReviewDateError as error:
        example, problem = None, str(error)
    else:
        problem = ""
    context = {
        "form": form or PolicyForm(instance=policy),
        "closure_form": closure_form or ClosureForm(),
        "closures": Closure.objects.filter(ends_on__gte=today),
        "today": today,
        "example": example,
        "problem": problem,
    }
    return render(request, "policy/policy_edit.html", context, status=status)
