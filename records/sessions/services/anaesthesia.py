"""Writing down anaesthesia beside the products injected for the treatment."""

import uuid
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from records.sessions.errors import PointConflict
from records.sessions.models import Anaesthesia, TreatmentSession
from records.sessions.services.sittings import lock_session, lock_unsigned, refuse_signed

ANAESTHESIA_FIELDS = [
    "method", "product", "lidocaine_ug_per_ml", "with_epinephrine", "volume_ul", "given_at",
]  # fmt: skip


@dataclass(frozen=True)
class Anaesthetic:
    """
    What was given.

    Attributes:
        method: a `planning.vocabulary.AnaesthesiaMethod`.
        volume_ul: microlitres, or milligrams of a cream; > 0.
        lidocaine_ug_per_ml: 0 for one without lidocaine.
    """

    method: str
    product: str
    volume_ul: int
    lidocaine_ug_per_ml: int = 0
    with_epinephrine: bool = False


def note_anaesthesia(
    *,
    session: TreatmentSession,
    key: uuid.UUID,
    given: Anaesthetic,
    given_at: datetime,
    actor,
    head: uuid.UUID | None = None,
) -> Anaesthesia:
    """
    Store one anaesthetic once, however often it is sent.

    Raises:
        PointConflict: the key was sent before with other content.
    """
    with acting(actor) as trail:
        session = lock_session(session.pk)
        said = vars(given)
        if stored := Anaesthesia.objects.filter(key=key).first():
            if stored.session_id != session.pk or snapshot(stored, list(said)) != said:
                raise PointConflict("This anaesthetic was stored before with other content.")
            return stored
        refuse_signed(session)
        row = Anaesthesia.objects.create(
            key=key, session=session, given_at=given_at, logged_by=actor, head=head, **said
        )
        after = snapshot(row, ["session", *ANAESTHESIA_FIELDS])
        trail.add("anaesthesia.noted", row, patient_id=session.patient_id, after=after)
    return row


def remove_anaesthesia(
    *, anaesthesia: Anaesthesia, actor, head: uuid.UUID | None = None
) -> Anaesthesia:
    """Take one out of an unsigned session; twice changes nothing."""
    return _set_removed(anaesthesia, True, actor, head)


def restore_anaesthesia(
    *, anaesthesia: Anaesthesia, actor, head: uuid.UUID | None = None
) -> Anaesthesia:
    """Bring one back as it was; twice changes nothing."""
    return _set_removed(anaesthesia, False, actor, head)


def _set_removed(
    anaesthesia: Anaesthesia, removed: bool, actor, head: uuid.UUID | None
) -> Anaesthesia:
    with acting(actor) as trail:
        session = lock_unsigned(anaesthesia.session_id)
        stored = Anaesthesia.objects.select_for_update().get(pk=anaesthesia.pk)
        is_new = bool(stored.removed_at) != removed
        if is_new:
            stored.removed_at = timezone.now() if removed else None
        stored.head = head
        stored.save(update_fields=["removed_at", "head"])
        if is_new:
            act = "anaesthesia.removed" if removed else "anaesthesia.restored"
            said = snapshot(stored, ANAESTHESIA_FIELDS)
            before, after = (said, None) if removed else (None, said)
            trail.add(act, stored, patient_id=session.patient_id, before=before, after=after)
    return stored
