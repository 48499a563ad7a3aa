"""What came after the treatment: aftercare, answers of the day after, reviews, adverse events."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Q
from django.utils import timezone

from planning.sources import IMPROVEMENT_SCALE, SATISFACTION_SCALE
from records.adverse_events.models import AdverseEvent
from records.aftercare.models import AftercareSheet, CheckInAnswer
from records.notes.before import photographs_of_day
from records.occlusions.models import OcclusionEntry
from records.outcomes.models import ReviewRecord
from records.sessions.models import TreatmentSession

EVENT_COLUMNS = (
    "id", "onset_on", "grade", "seriousness", "causality", "outcome", "signs", "actions",
    "closed_at",
)  # fmt: skip


@dataclass(frozen=True)
class Afterwards:
    """As known at `as_of`."""

    as_of: datetime
    sheets: list[AftercareSheet]
    answers: list[CheckInAnswer]
    outcomes: list[ReviewRecord]
    events: list[AdverseEvent]

    # Where the numbers of a review come from.
    sources = (IMPROVEMENT_SCALE, SATISFACTION_SCALE)

    @property
    def is_empty(self) -> bool:
        return not (self.sheets or self.answers or self.outcomes or self.events)


def after_session(session: TreatmentSession) -> Afterwards:
    sheets = session.aftercare_sheets.defer("pdf").select_related("given_by")
    answers = CheckInAnswer.objects.filter(check_in__session=session).select_related("settled_by")
    events = session.adverse_events.select_related("lot", "recorded_by", "closed_by")
    return Afterwards(
        as_of=timezone.now(),
        sheets=list(sheets.order_by("given_at", "id")),
        answers=list(answers.order_by("at", "id")),
        outcomes=list(_outcomes(session)),
        events=list(events.order_by("onset_on", "id")),
    )


def edition_of(session: TreatmentSession) -> str:
    """
    Which edition of a signed session's note holds what is known now: empty while nothing of it came
    after the signature, else SHA-256 over what did.
    """
    signed_at = session.signed_at
    sheets = session.aftercare_sheets.filter(given_at__gt=signed_at)
    answers = CheckInAnswer.objects.filter(check_in__session=session)
    entries = OcclusionEntry.objects.filter(occlusion__session=session, received_at__gt=signed_at)
    later = {
        "aftercare": sheets.order_by("id").values_list("id", flat=True),
        "answers": answers.order_by("id").values_list("id", "settled_at"),
        "reviews": _outcomes(session).order_by("id").values_list("id", flat=True),
        "events": session.adverse_events.order_by("id").values_list(*EVENT_COLUMNS),
        "occlusions": entries.order_by("id").values_list("key", flat=True),
        "photographs": _photographs_changed(session),
    }
    came = {name: list(rows) for name, rows in later.items() if rows}
    if not came:
        return ""
    text = json.dumps(came, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _outcomes(session: TreatmentSession):
    records = ReviewRecord.objects.filter(review__session=session).that_hold()
    return records.with_ratings().order_by("seen_on", "id")


def _photographs_changed(session: TreatmentSession):
    """Added after the signature, and those of the session that were taken out after it."""
    added = photographs_of_day(session).filter(added_at__gt=session.signed_at)
    removed = session.photographs.filter(
        Q(removed_at__gt=session.signed_at) & Q(added_at__lte=session.signed_at)
    )
    return [*added.order_by("id").values_list("key", flat=True),
            *removed.order_by("id").values_list("key", "removed_at")]  # fmt: skip
