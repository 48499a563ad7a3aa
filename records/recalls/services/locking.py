"""The lock that every act takes first."""

from records.recalls.errors import CaseClosed, OnlyADrill
from records.recalls.models import RecallCase


def lock_open(pk: int) -> RecallCase:
    """
    The case, its row locked until the transaction ends.

    Raises:
        CaseClosed: it never changes.
    """
    case = RecallCase.objects.select_for_update(of=("self",), no_key=True).get(pk=pk)
    if not case.is_open:
        raise CaseClosed(f"{case} is closed and never changes. Open a new case for what is new.")
    return case


def lock_real(pk: int, *, refusal: str) -> RecallCase:
    """
    As `lock_open`, for an act that reaches out of the case.

    Raises:
        OnlyADrill: the case is one; `refusal` says what does not happen in a drill.
    """
    case = lock_open(pk)
    if case.is_drill:
        raise OnlyADrill(f"{case} is a drill: {refusal}")
    return case
