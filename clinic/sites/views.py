"""The sites of the clinic, kept by the practice owner."""

from django.contrib import messages
from django.db.models import Count, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.sites.errors import SiteError
from clinic.sites.forms import SiteForm
from clinic.sites.models import Site
from clinic.sites.services import save_site


@allow(Role.OWNER)
@require_GET
def site_list(request):
    rooms = Count("rooms", filter=Q(rooms__is_active=True))
    sites = Site.objects.annotate(room_count=rooms).order_by("-is_active", "name")
    return render(request, "sites/list.html", {"sites": sites})


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def site_create(request):
    return _site_form(request, Site())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def site_edit(request, pk):
    return _site_form(request, get_object_or_404(Site, pk=pk))


def _site_form(request, site):
    form = SiteForm(request.POST or None, instance=site)
    if request.method == "POST" and form.is_valid():
        site = form.save(commit=False)
        try:
            if form.goes_through(lambda: save_site(site=site, actor=request.user)):
                messages.success(request, f"{site} is saved.")
                return redirect("site-list")
        except SiteError as error:
            form.add_error("is_active", str(error))
    stored = Site.objects.filter(pk=site.pk).first() if site.pk else None
    status = 422 if form.errors else 200
    return render(request, "sites/form.html", {"form": form, "site": stored}, status=status)
