"""Members of staff, and one's own password."""

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
        try:
            save_member(member=form.save(commit=False), actor=request.user, password=password)
        except StaffError as error:
            form.add_error(None, str(error))
        else:
            if password and member.pk == request.user.pk:
                update_session_auth_hash(request, member)
            messages.success(request, f"{member.full_name} is saved.")
            return redirect("staff-list")
    stored = User.objects.filter(pk=member.pk).first() if member.pk else None
    return render(request, "staff/staff_form.html", {"form": form, "member": stored})


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
