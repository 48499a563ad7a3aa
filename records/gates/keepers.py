"""The gates that no other capability keeps."""

from collections.abc import Iterator

from django.utils import timezone

from planning.ages import age_years
from planning.sources import ENGLAND_MINIMUM_AGE, clinic_policy
from planning.vocabulary import ProductKind
from records.gates.registry import Asked, Gate
from records.patients.enums import AlertLevel
from records.patients.models import Patient

MINIMUM_AGE = "minimum-age"
_UNDOES = {ProductKind.HYALURONIDASE}


def age_gates(asked: Asked) -> Iterator[tuple[Patient, Gate]]:
    """
    Younger on the day of the treatment than the clinic treats. Nobody decides past it: where the
    law has an age, it knows no consent of a parent. Hyaluronidase alone is no cosmetic treatment
    but undoes one, and may be urgent: an injector decides.
    """
    least, day = asked.policy.minimum_age_years, timezone.localdate(asked.now)
    for patient, kinds in asked.kinds.items():
        born = patient.birth_date
        # Born after that day: the date of birth is a slip, and no age is told from it.
        age = age_years(born, day) if born <= day else 0
        if age < least:
            yield patient, _too_young(age, least, is_urgent=kinds == _UNDOES)


def _too_young(age: int, least: int, *, is_urgent: bool) -> Gate:
    now_what = (
        "Hyaluronidase alone: in an emergency treat first, and write down why."
        if is_urgent
        else "Do not treat. Look at the date of birth; if it is right, ask the practice owner what "
        "local law allows."
    )
    return Gate(
        key=MINIMUM_AGE,
        level=AlertLevel.STOP,
        title=f"{age} years old: the clinic treats from {least}.",
        text=now_what,
        source=f"{clinic_policy(f'no treatment below {least} years')}. {ENGLAND_MINIMUM_AGE}",
        can_be_decided=is_urgent,
    )
