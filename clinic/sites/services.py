"""Writes to sites. Each act is one transaction with its audit event."""

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.sites.errors import SiteError
from clinic.sites.models import Site

SITE_FIELDS = ["name", "address", "phone", "is_active"]


def save_site(*, site: Site, actor) -> Site:
    """
    Add or change a site, or take it out of use.

    Raises:
        SiteError: it is to be taken out of use while somebody works there.
    """
    with acting(actor) as trail:
        stored = Site.objects.select_for_update().filter(pk=site.pk).first()
        before = snapshot(stored, SITE_FIELDS) if stored else {}
        if stored and stored.is_active and not site.is_active:
            _refuse_while_worked_at(stored)
        site.save()
        before, after = changes(before, snapshot(site, SITE_FIELDS))
        if after:
            trail.add("site.saved", site, before=before, after=after)
    return site


def _refuse_while_worked_at(site: Site) -> None:
    row = site.working_times.exclude(until_on__lt=timezone.localdate()).first()
    if row is not None:
        raise SiteError(
            f"{row.person} works here on {row.get_weekday_display()}s. End the hours at this site "
            "first, then take it out of use."
        )
