"""Members of staff, and one's own password."""

from functools import partial

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import EVERYONE, allow
from clinic.staff.errors import StaffError
from clinic.staff.forms import MemberForm, OwnPasswordForm
from clinic.staff.models import User
from clinic.staff.services import change_own_password, save_member


@allow(Role.OWNER)
@require_GET
def staff_list(request):
    members = User.objects.order_by("-is_active", "full_name", "id")
    return render(request, "staff/staff_list.html", {"members": members})


@allow(Role.OWNER)
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def staff_create(request):
    return _member_form(request, User())


@allow(Role.OWNER)
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def staff_edit(request, pk):
    return _member_form(request, get_object_or_404(User, pk=pk))


def _member_form(request, member):
    form = MemberForm(request.POST or None, instance=member)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["new_password"]
        member = form.save(commit=False)
        save = partial(save_member, member=member, actor=request.user, password=password)
        try:
            if form.goes_through(save, whose=member if member.pk else None):
                if password and member.pk == request.user.pk:
                    update_session_auth_hash(request, member)
                messages.success(request, f"{member.full_name} is saved.{_hours_in_words(member)}")
                return redirect("staff-list")
        except StaffError as error:
            form.add_error(None, str(error))
    stored = User.objects.filter(pk=member.pk).first() if member.pk else None
    context = {"form": form, "member": stored, "lacks_hours": stored and _lacks_hours(stored)}
    return render(request, "staff/staff_form.html", context)


def _hours_in_words(member: User) -> str:
    return " No working hours are set yet: see Working hours." if _lacks_hours(member) else ""


def _lacks_hours(member: User) -> bool:
    """Whether the member is booked by the default hours: the page of the hours says which."""
    return member.is_injector and member.is_active and not member.working_times.exists()


@allow(*EVERYONE)
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def staff_password(request):
    """Change one's own password; this session stays, others end."""
    form = OwnPasswordForm(request.user, request.POST or None)
    if request.method == "POST" and form.is_valid():
        change_own_password(member=request.user, password=form.cleaned_data["new_password1"])
        update_session_auth_hash(request, request.user)
        messages.success(request, "Your password is changed.")
        return redirect("staff-password")
    return render(request, "staff/staff_password.html", {"form": form})
