"""The owner's answer to questions about looks at records."""

from collections.abc import Collection

from django.utils import timezone

from clinic.audit.services import acting
from clinic.staff.models import User
from records.record_access.enums import Mark
from records.record_access.errors import RecordAccessError
from records.record_access.models import AccessFinding


def mark_findings(*, pks: Collection[int], mark: Mark, words: str, actor: User) -> int:
    """
    Mark questions as explained or as a concern, with words; a concern may be explained later.

    Raises:
        RecordAccessError: no words; one of them is about the actor while there is another owner, or
            is not there, or was explained meanwhile. Nothing is marked then.
    """
    if not words.strip():
        raise RecordAccessError("Say in words what came of it.")
    with acting(actor) as trail:
        found = list(AccessFinding.objects.select_for_update().filter(pk__in=pks).order_by("pk"))
        if len(found) < len(set(pks)):
            raise RecordAccessError("One of these questions is not there. Choose them again.")
        _check(found, mark, actor)
        for finding in found:
            before = {"mark": finding.mark, "words": finding.words}
            finding.mark, finding.words = mark, words.strip()
            finding.marked_by, finding.marked_at = actor, timezone.now()
            finding.save(update_fields=["mark", "words", "marked_by", "marked_at"])
            trail.add(
                "access_finding.marked",
                finding,
                patient_id=finding.patient_id,
                before=before,
                after={"mark": mark.value, "words": finding.words},
            )
    return len(found)


def _check(found: list[AccessFinding], mark: Mark, actor: User) -> None:
    if any(one.mark == Mark.EXPLAINED for one in found):
        raise RecordAccessError("One of these questions was explained meanwhile. Choose again.")
    if mark == Mark.CONCERN and any(one.mark == Mark.CONCERN for one in found):
        raise RecordAccessError("One of these questions is a concern already.")
    if any(one.person_id == actor.pk for one in found) and _other_owner(actor):
        raise RecordAccessError(
            "A question about yourself is answered by another practice owner. Leave it out."
        )


def _other_owner(actor: User) -> bool:
    return User.objects.filter(is_owner=True, is_active=True).exclude(pk=actor.pk).exists()
