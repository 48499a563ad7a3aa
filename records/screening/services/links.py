"""The patient's own link to a form: made, opened, and worn out by too many tries."""

import uuid
from datetime import timedelta

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from clinic.audit.services import acting
from clinic.staff.models import User
from records.patients.models import Patient
from records.reminders.tokens import TOKEN_LENGTH, digest_of, token_of
from records.screening.enums import Way
from records.screening.models import HistoryForm, HistoryLink
from records.screening.services.histories import begin_history

GOOD_FOR = timedelta(days=14)
MOST_TRIES = 20


def make_link(*, patient: Patient, actor: User) -> HistoryLink:
    """Ask a patient by a link that lasts two weeks; one that was made before ends."""
    with acting(actor) as trail:
        form = begin_history(patient=patient, way=Way.LINK, actor=actor)
        reference = uuid.uuid4().hex
        link = HistoryLink.objects.create(
            form=form,
            reference=reference,
            token_digest=digest_of(token_of(reference)),
            expires_at=timezone.now() + GOOD_FOR,
        )
        after = {"expires_at": link.expires_at}
        trail.add("history.link_made", link, patient_id=patient.pk, after=after)
    return link


def form_behind(token: str) -> HistoryForm | None:
    """The form whose link this is, while it waits for answers. None says nothing about why."""
    if len(token) != TOKEN_LENGTH:
        return None
    forms = HistoryForm.objects.waiting().select_related("questionnaire", "patient", "link")
    return forms.filter(
        link__token_digest=digest_of(token),
        link__used_at=None,
        link__expires_at__gt=timezone.now(),
        link__tries__lt=MOST_TRIES,
    ).first()


def was_answered(token: str) -> bool:
    """Whether this is the link of a form that was sent by it within the link's time."""
    if len(token) != TOKEN_LENGTH:
        return False
    links = HistoryLink.objects.filter(used_at__isnull=False, expires_at__gt=timezone.now())
    return links.filter(token_digest=digest_of(token)).exists()


def note_try(form: HistoryForm) -> None:
    """A form came back with something missing; after too many of them the link ends."""
    with transaction.atomic():
        HistoryLink.objects.filter(form=form, used_at=None).update(tries=F("tries") + 1)
