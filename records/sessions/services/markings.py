"""Places marked on the drawing before injecting."""

import uuid
from datetime import datetime

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from planning.atlas.measurements import CHART_VERSION
from records.sessions.errors import PointConflict, SessionError
from records.sessions.models import Marking, TreatmentSession
from records.sessions.services.placing import located
from records.sessions.services.sittings import lock_session, lock_unsigned, refuse_signed

MARKING_FIELDS = ["key", "view", "x_dmm", "y_dmm", "region", "side"]


def plan_marking(
    *,
    session: TreatmentSession,
    key: uuid.UUID,
    view: str,
    x_dmm: int,
    y_dmm: int,
    region: str = "",
    side: str = "",
    marked_at: datetime,
    actor,
    head: uuid.UUID | None = None,
) -> Marking:
    """
    Mark a place once, however often it is sent.

    Args:
        x_dmm, y_dmm: tenths of a millimetre on the view's chart.
        region, side: empty to take them from the place.

    Raises:
        PointConflict: the key was sent before for another place.
        SessionError: the place is not on the chart.
    """
    with acting(actor) as trail:
        session = lock_session(session.pk)
        location = located(view, x_dmm, y_dmm, session)
        place = {
            "view": view, "x_dmm": x_dmm, "y_dmm": y_dmm,
            "region": region or location.region.value, "side": side or location.side.value,
        }  # fmt: skip
        if stored := Marking.objects.filter(key=key).first():
            if stored.session_id != session.pk or snapshot(stored, list(place)) != place:
                raise PointConflict("This marking was stored before at another place.")
            return stored
        refuse_signed(session)
        marking = Marking.objects.create(
            key=key, session=session, chart_version=CHART_VERSION, marked_at=marked_at,
            marked_by=actor, head=head, **place,
        )  # fmt: skip
        after = snapshot(marking, MARKING_FIELDS)
        trail.add("marking.made", marking, patient_id=session.patient_id, after=after)
    return marking


def unplan_marking(*, marking: Marking, actor, head: uuid.UUID | None = None) -> Marking:
    """
    Take a marking away; twice changes nothing.

    Raises:
        SessionError: a point stands for it.
    """
    return _set_removed(marking, True, actor, head)


def replan_marking(*, marking: Marking, actor, head: uuid.UUID | None = None) -> Marking:
    """Bring back a marking as it was; twice changes nothing."""
    return _set_removed(marking, False, actor, head)


def _set_removed(marking: Marking, removed: bool, actor, head: uuid.UUID | None) -> Marking:
    with acting(actor) as trail:
        session = lock_unsigned(marking.session_id)
        stored = Marking.objects.select_for_update().get(pk=marking.pk)
        if bool(stored.removed_at) == removed:
            Marking.objects.filter(pk=stored.pk).update(head=head)
            return stored
        if removed and stored.points.standing().exists():
            raise SessionError("A point was given at this marking. Remove the point first.")
        stored.removed_at, stored.head = timezone.now() if removed else None, head
        stored.save(update_fields=["removed_at", "head"])
        act = "marking.removed" if removed else "marking.restored"
        said = snapshot(stored, MARKING_FIELDS)
        before, after = (said, None) if removed else (None, said)
        trail.add(act, stored, patient_id=session.patient_id, before=before, after=after)
    return stored
