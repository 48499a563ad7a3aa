"""Reading the face atlas, and the practice owner's changes to it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.atlas.charts import atlas_charts, face
from clinic.atlas.errors import AtlasError
from clinic.atlas.forms import AtlasEntryForm, WithdrawForm
from clinic.atlas.models import AtlasEntry
from clinic.atlas.queries import atlas_for, by_kind, regions_by_part
from clinic.atlas.services import copied, remove_entry, save_entry, withdraw_supplied
from planning.atlas.cautions import LEVEL_BASIS, level_of
from planning.atlas.compilation import supplied
from planning.atlas.guide import GuideEntry, Kind
from planning.atlas.regions import NAMES, Region
from planning.vocabulary import Jaw, View


@allow(*CLINICAL)
@require_GET
def atlas_list(request: HttpRequest) -> HttpResponse:
    """All regions, beside the drawn face."""
    context = {"charts": atlas_charts(), "parts": regions_by_part()}
    return render(request, "atlas/list.html", context)


@allow(*CLINICAL)
@require_GET
def atlas_region(request: HttpRequest, region: str) -> HttpResponse:
    """What is usual and what to beware of in one region, each value with its source."""
    found = _region(region)
    context = {
        "region": found,
        "names": NAMES[found],
        "level": level_of(found),
        "level_basis": LEVEL_BASIS,
        "charts": atlas_charts(found),
        "kinds": by_kind(atlas_for(found)),
    }
    return render(request, "atlas/region.html", context)


@allow(*CLINICAL)
@require_GET
def atlas_drawing(request: HttpRequest, view: str, jaw: str) -> HttpResponse:
    """The face alone; its address changes with it, so that a browser fetches it once."""
    try:
        drawing = face(View(view), Jaw(jaw))
    except (ValueError, KeyError) as error:  # a photograph is a view without a drawing
        raise Http404 from error
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return HttpResponse(drawing, content_type="image/svg+xml", headers=headers)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def atlas_add(request: HttpRequest, region: str, kind: str) -> HttpResponse:
    """A value of the clinic's own."""
    try:
        found = Kind(kind)
    except ValueError as error:
        raise Http404 from error
    return _entry_form(request, AtlasEntry(region=_region(region), kind=found))


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def atlas_replace(request: HttpRequest, key: str) -> HttpResponse:
    """A value in the place of a supplied one, which the form starts from."""
    found = _supplied(key)
    if decided := AtlasEntry.objects.filter(replaces=key).first():
        return redirect("atlas-edit", pk=decided.pk)
    return _entry_form(request, copied(found))


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def atlas_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a value of the clinic's own; one that was withdrawn holds again with what is typed."""
    return _entry_form(request, get_object_or_404(AtlasEntry, pk=pk))


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def atlas_withdraw(request: HttpRequest, key: str) -> HttpResponse:
    """Let a supplied value hold no more, with a reason."""
    found = _supplied(key)
    form = WithdrawForm(request.POST or None, back=_address(found.region))
    if request.method == "POST" and form.is_valid():
        try:
            withdraw_supplied(key=key, reason=form.cleaned_data["reason"], actor=request.user)
        except AtlasError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The value is withdrawn.")
            return redirect(_address(found.region))
    context = {"form": form, "value": found, "region": found.region}
    return render(request, "atlas/withdraw.html", context, status=422 if form.errors else 200)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def atlas_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a value of the clinic's own away; what it stood for holds again."""
    entry = get_object_or_404(AtlasEntry, pk=pk)
    region = Region(entry.region)
    if request.method == "POST":
        try:
            remove_entry(entry=entry, actor=request.user)
        except AtlasError as error:
            messages.error(request, str(error))
        else:
            again = entry.replaces in supplied()
            messages.success(
                request, "The supplied value holds again." if again else "The value is removed."
            )
        return redirect(_address(region))
    context = {
        "entry": entry,
        "value": entry.entry,
        "region": region,
        "again": supplied().get(entry.replaces),
    }
    return render(request, "atlas/remove.html", context)


def _entry_form(request: HttpRequest, entry: AtlasEntry) -> HttpResponse:
    region, kind = Region(entry.region), Kind(entry.kind)
    form = AtlasEntryForm(request.POST or None, instance=entry, back=_address(region))
    if request.method == "POST" and form.is_valid():
        try:
            save_entry(entry=form.save(commit=False), actor=request.user)
        except AtlasError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The value is saved.")
            return redirect(_address(region))
    context = {
        "form": form,
        "region": region,
        "kind": kind,
        "replaced": supplied().get(entry.replaces),
    }
    return render(request, "atlas/form.html", context, status=422 if form.errors else 200)


def _region(key: str) -> Region:
    try:
        return Region(key)
    except ValueError as error:
        raise Http404 from error


def _supplied(key: str) -> GuideEntry:
    try:
        return supplied()[key]
    except KeyError as error:
        raise Http404 from error


def _address(region: Region) -> str:
    return reverse("atlas-region", args=[region])
