"""What is still open in a case: closing it asks for a word about each of these."""

from collections.abc import Iterator
from dataclasses import dataclass

from records.recalls.models import RecallCase
from records.recalls.queries.extent import Extent
from records.recalls.queries.progress import Progress, progress_of, status_of
from records.recalls.queries.questions import questions


@dataclass(frozen=True, slots=True)
class OpenThing:
    """`key` names it in a form; `title` says what is open, as it will stand in the closing note."""

    key: str
    title: str


def open_things(case: RecallCase, extent: Extent) -> list[OpenThing]:
    """Everything that is not done, in the order in which a case is worked through."""
    found = [*_list(case), *_units(case)]
    if not case.is_drill:
        progress = progress_of(case)
        found += [*_lots(extent), *_people(progress), *_afterwards(case, extent, progress)]
    return found


def _counted(key: str, count: int, one: str, many: str) -> Iterator[OpenThing]:
    """Nothing where there is none to count; `{}` in the words stands for the number."""
    if count:
        yield OpenThing(key, (one if count == 1 else many).format(count))


def _list(case: RecallCase) -> Iterator[OpenThing]:
    if case.list_at is None:
        yield OpenThing("list", "The call list was not called complete")
    yield from _counted(
        "no_way",
        case.people.without_a_way().count(),
        "1 patient has neither telephone, e-mail nor address on record",
        "{} patients have neither telephone, e-mail nor address on record",
    )


def _units(case: RecallCase) -> Iterator[OpenThing]:
    here = case.units.still_here()
    yield from _counted(
        "to_pull",
        here.filter(pulled_at__isnull=True, not_found="").count(),
        "1 unit is neither set apart nor looked for",
        "{} units are neither set apart nor looked for",
    )
    yield from _counted(
        "not_found",
        here.exclude(not_found="").count(),
        "1 unit was not where it should be",
        "{} units were not where they should be",
    )
    if not case.is_drill:
        yield from _counted(
            "apart",
            here.filter(pulled_at__isnull=False).count(),
            "1 unit lies apart, neither returned nor destroyed",
            "{} units lie apart, neither returned nor destroyed",
        )


def _lots(extent: Extent) -> Iterator[OpenThing]:
    """That somebody compared them with the notice is a decision, so it is written down."""
    if asked := questions(extent):
        lots = "; ".join(f"{each.lot.number} of {each.lot.product}" for each in asked)
        yield OpenThing("lots", f"Lots that may be meant as well: {lots}")


def _people(progress: Progress) -> Iterator[OpenThing]:
    if progress.not_reached:
        yield OpenThing(
            "people", f"{progress.not_reached} of {progress.people} patients not reached"
        )


def _afterwards(case: RecallCase, extent: Extent, progress: Progress) -> Iterator[OpenThing]:
    checks = status_of(case, extent, progress).checks
    if checks.outstanding:
        yield OpenThing(
            "checks", f"Effectiveness check: {checks.checked} of {checks.target} checked"
        )
    yield from _counted(
        "mailings",
        case.mailings.filter(mailing__finished_at__isnull=True).count(),
        "1 mailing is not finished",
        "{} mailings are not finished",
    )
    yield from _counted(
        "events",
        case.events.filter(event__closed_at__isnull=True).count(),
        "1 adverse event found in the case is still open",
        "{} adverse events found in the case are still open",
    )
