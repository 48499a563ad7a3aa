"""The diary: a day or a week on a board, one visit in a panel, and the sheet of a day."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_GET, require_safe
from django_htmx.middleware import HtmxDetails

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.models import Appointment
from records.diary.enums import By
from records.diary.forms import DayForm, DiaryForm, SheetForm, WeekForm
from records.diary.queries.board import KEY
from records.diary.queries.heads import day_address, people_of, rooms_of, week_of
from records.diary.queries.pages import DiaryWeek, Overview, diary_day, diary_week, overview
from records.diary.queries.sheets import day_sheets
from records.diary.queries.visits import changes_between, has_loud_alert, mark_of
from records.diary.services import note_printing
from records.reminders.queries import latest_answers
from records.to_move.queries import TO_COME, in_the_way

# What was looked at last, for the browser's session; no more than what the address says.
COOKIE = "diary"
PAGES = ("diary", "diary-week")


class AskedByPage(HttpRequest):
    """A request as django-htmx hands it on: `htmx` tells whether a page's script asks."""

    htmx: HtmxDetails


@allow(*EVERYONE)
@require_GET
def diary(request: AskedByPage) -> HttpResponse:
    """A day by people or rooms; asked for nothing, what was looked at last today."""
    if not request.GET and (address := _remembered(request)):
        return redirect(address)
    day = DayForm(request.GET).shown_day()
    now = timezone.localtime()
    if unchanged := _unchanged(request, [day], now):
        return unchanged
    form = DiaryForm(request.GET)
    site = form.asked("site")
    asked = {"day": day.isoformat(), "by": form.by_what.value, **_site(site)}
    shown = diary_day(day, form.by_what, site, now)
    context = {
        "form": form if form.errors else DiaryForm(initial={**asked, "day": day}),
        "by": form.by_what,
        "shown": shown,
        "now": now,
        **_around(day, 1),
        **_address("diary", asked),
    }
    return _answer(request, "diary/day.html", context, shown.mark)


@allow(*EVERYONE)
@require_GET
def week(request: AskedByPage) -> HttpResponse:
    """Seven days of one person or room, or everybody's in short."""
    day = DayForm(request.GET).shown_day()
    days = week_of(day)
    now = timezone.localtime()
    form = WeekForm(request.GET)
    whose, site = form.whose, form.asked("site")
    if unchanged := _unchanged(request, days, now, whose):
        return unchanged
    name = "room" if form.asked("room") and not form.asked("practitioner") else "practitioner"
    asked = {"day": day.isoformat(), **({name: whose.pk} if whose else _site(site))}
    shown = diary_week(days, whose, now) if whose else overview(days, site, now)
    context = {
        "form": form if form.errors else WeekForm(initial={**asked, "day": day}),
        "whose": whose,
        "whose_kind": By(name),
        "days": days,
        "board": shown.board if isinstance(shown, DiaryWeek) else None,
        "rows": shown.rows if isinstance(shown, Overview) else None,
        "now": now,
        **_around(day, len(days)),
        **_address("diary-week", asked),
    }
    return _answer(request, "diary/week.html", context, shown.mark)


@allow(*EVERYONE)
@require_GET
def visit(request: AskedByPage, pk: int) -> HttpResponse:
    """What the front desk needs of one visit; a panel of the board, or a page without scripts."""
    appointment = get_object_or_404(Appointment.objects.with_people().with_site(), pk=pk)
    record_read(
        request.user, appointment, patient_id=appointment.patient_id, action="appointment.read"
    )
    otherwise = day_address(timezone.localdate(appointment.starts_at), By.PRACTITIONER)
    came_from = request.htmx.current_url_abs_path if request.htmx else ""
    context = {
        "appointment": appointment,
        "answer": latest_answers([appointment]).get(appointment.pk),
        "has_alert": has_loud_alert(appointment.patient_id),
        "in_the_way": _in_the_way(appointment),
        "has_sites": Site.objects.has_several(),
        "back": came_from or return_path(request, otherwise=otherwise),
    }
    template = "diary/_visit.html" if request.htmx else "diary/visit.html"
    return render(request, template, context)


@allow(*EVERYONE)
@require_safe
def day_sheet(request: AskedByPage) -> HttpResponse:
    """A day on paper: times, patients, telephone numbers; nothing clinical."""
    form = SheetForm(request.GET)
    if not form.is_valid():
        # The diary's page has the field, and says there what is wrong with it.
        return redirect(f"{reverse('diary')}?{urlencode({'day': request.GET.get('day', '')})}")
    day = form.shown_day()
    sheets = day_sheets(day, form.asked("practitioner"))
    note_printing(sheets=sheets, actor=request.user)
    context = {
        "policy": current_policy(),
        "day": day,
        "sheets": sheets,
        "has_sites": Site.objects.has_several(),
        "printed_at": timezone.now(),
        "printed_by": request.user,
    }
    pdf = render_pdf(document_html("print/day_sheet.html", context))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="day-{day.isoformat()}.pdf"'
    return response


def _in_the_way(appointment: Appointment) -> str:
    """Why the visit has to be moved; "" if it need not be, or no longer can."""
    if appointment.state not in TO_COME or appointment.starts_at < timezone.now():
        return ""
    return in_the_way([appointment]).get(appointment.pk, "")


def _answer(request: AskedByPage, template: str, context: dict, mark: str) -> HttpResponse:
    """The page, or for the page's own question whether anything changed, its board alone."""
    context |= {"mark": mark, "key": KEY, "kinds": list(AppointmentKind)}
    if request.htmx:
        response = render(request, "diary/_shown.html", context)
    else:
        context |= _choices(context)
        response = render(request, template, context)
        response.set_cookie(
            COOKIE,
            f"{timezone.localdate().isoformat()} {context['page']} {context['query']}",
            httponly=True,
            samesite="Lax",
            secure=settings.SECURE,
        )
    response["ETag"] = f'"{mark}"'
    return response


def _unchanged(
    request: AskedByPage, days: Sequence[date], now: datetime, whose: User | Room | None = None
) -> HttpResponse | None:
    """304 to a page that has the same mark already (RFC 9110, If-None-Match)."""
    if not request.htmx or "If-None-Match" not in request.headers:
        return None
    mark = mark_of(changes_between(days[0], days[-1], whose), days, now)
    return get_conditional_response(request, etag=f'"{mark}"')


def _remembered(request: AskedByPage) -> str | None:
    """The address that was looked at last; a day begins with itself, not with yesterday's."""
    on, _, rest = request.COOKIES.get(COOKIE, "").partition(" ")
    page, _, query = rest.partition(" ")
    if on != timezone.localdate().isoformat() or page not in PAGES:
        return None
    return f"{reverse(page)}?{query}"


def _site(site) -> dict[str, int]:
    return {"site": site.pk} if site else {}


def _address(page: str, asked: dict) -> dict[str, str]:
    """What is shown, as an address that stays true after midnight."""
    query = urlencode(asked)
    return {"page": page, "query": query, "address": f"{reverse(page)}?{query}"}


def _around(day: date, step: int) -> dict[str, date]:
    by = timedelta(days=step)
    return {"day": day, "today": timezone.localdate(), "before": day - by, "after": day + by}


def _choices(context: dict) -> dict:
    """What the page offers to choose from: sites where there are several, and whose week."""
    form = context["form"]
    choices = {"sites": list(form.fields["site"].queryset)}
    if "whose_kind" in context:
        choices |= {"people": people_of([]), "rooms": rooms_of([], None)}
    return choices
