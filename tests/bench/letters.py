"""
A recall's letters: written file by file to 2,000 patients, and handed out as one zip.

Each of the first files is compared with WeasyPrint alone on the same HTML, which lies ready. The
clinic's part is what lies between: reading patients, filling the text, storing the file with the
states of its letters and their events. Memory is compared with that of a quarter of the letters.
"""

from collections import deque
from datetime import date
from time import process_time

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from records.mailings.archive import zipped
from records.mailings.letters import letter_of, letters_html
from records.mailings.models import Mailing
from records.mailings.services.starting import start_mailing
from records.mailings.services.steps import write_next
from records.patients.models import Patient
from tests.bench.building import scaled
from tests.bench.memory import growth_mb, python_peak_mb
from tests.bench.pdf import weasyprint_alone
from tests.bench.results import MEGABYTES, RATIO, SECONDS, Result, compared, summed_up
from tests.factories import make_user

SIZES = {"default": scaled(2_000, 8)}
COMPARED = scaled(10, 1)
"""So many files are rendered twice: by the clinic, and by WeasyPrint alone."""
GOAL_TO_WEASYPRINT = 1.25
GOAL_OF_PEAK = 1.2
BODY = "\n\n".join(
    [
        "Dear {name},",
        "on {treated_on} you were treated at our clinic with {product}, lot {lot} ({regions}). The "
        "maker has asked all clinics to stop using this lot and to tell everybody who got "
        "something of it.",
        "You need not do anything at once. Please call us on {phone}, so that we can arrange an "
        "appointment and look at the places that were treated.",
        "If you notice pain, a change of the colour of your skin or of your sight, do not wait for "
        "the appointment: call the emergency number.",
        "With kind regards\n{clinic}",
    ]
)


def build(count: int) -> None:
    """A mailing to a quarter of the patients, and one to all of them; nothing is written yet."""
    owner = make_user("owner")
    ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", address="4 Example Lane\nLarkstone LK1 0ZZ",
        phone="020 7946 0123",
    )  # fmt: skip
    patients = Patient.objects.bulk_create(
        Patient(
            record_number=f"P{number:06d}", full_name=f"Zoë Example-Łęcka {number}",
            birth_date=date(1980, 5, 17), address=f"{number} Sample Street\nLarkstone LK1 1AA",
        )
        for number in range(count)
    )  # fmt: skip
    words = {
        "treated_on": "3 March and 5 May 2026", "product": "HA filler firm, 1 mL", "lot": "7741",
        "regions": "cheekbone, tear trough and chin",
    }  # fmt: skip
    for some in (patients[: count // 4], patients):
        start_mailing(
            channel="letter", purpose="Bench", subject="Please call us", body=BODY,
            people=((patient, words) for patient in some), actor=owner,
        )  # fmt: skip


def measure() -> list[Result]:
    """Write both mailings to their end, the small one first, then zip both."""
    less, more = Mailing.objects.order_by("pk")
    few, many = less.items.count(), more.items.count()
    _write(less)
    ours: list[float] = []
    grown = growth_mb(lambda: ours.extend(_write(more)))
    peaks = [python_peak_mb(lambda each=each: _zip(each)) for each in (less, more)]
    zip_grown = growth_mb(lambda: _zip(more))
    small, large = (f"{peak:.2f} MB" for peak in peaks)
    return [
        _against_weasyprint(),
        summed_up(f"{many:,} letters: processor time", [sum(ours)], unit=SECONDS,
                  note=f"{len(ours)} files of {max(ours):.2f} s at most"),
        summed_up(f"{many:,} letters: growth of the process after {few:,}", [grown],
                  unit=MEGABYTES),
        summed_up(f"Zip of {many:,} letters: Python's peak memory, to {few:,}",
                  [peaks[1] / peaks[0]], unit=RATIO, goal=GOAL_OF_PEAK,
                  note=f"{large} to {small}"),
        summed_up(f"Zip of {many:,} letters: growth of the process", [zip_grown],
                  unit=MEGABYTES),
    ]  # fmt: skip


def _write(mailing: Mailing) -> list[float]:
    """Seconds of each step, to the end."""
    seconds, is_at_end = [], False
    while not is_at_end:
        start = process_time()
        is_at_end = write_next(mailing=mailing, actor=mailing.started_by).is_at_end
        seconds.append(process_time() - start)
    return seconds


def _zip(mailing: Mailing) -> None:
    deque(zipped(mailing), maxlen=0)


def _against_weasyprint() -> Result:
    """A third mailing to the same people as far as it is compared, taking turns file by file."""
    model = Mailing.objects.latest("pk")
    people = [(item.patient, item.words) for item in model.items.select_related("patient")]
    mailing = start_mailing(
        channel="letter", purpose="Bench", subject=model.subject, body=model.body, people=people,
        actor=model.started_by,
    )  # fmt: skip
    seconds: dict[str, list[float]] = {"ours": [], "alone": []}
    for number in range(1, COMPARED + 1):
        html = _html(mailing, number)
        acts = {
            "ours": lambda: write_next(mailing=mailing, actor=mailing.started_by),
            "alone": lambda html=html: weasyprint_alone(html, "print-letters.css"),
        }
        for name in sorted(acts, reverse=number % 2 == 0):
            start = process_time()
            acts[name]()
            seconds[name].append(process_time() - start)
    return compared(
        "A file of 50 letters, from the record to the database, to WeasyPrint alone",
        seconds["ours"],
        seconds["alone"],
        goal=GOAL_TO_WEASYPRINT,
    )


def _html(mailing: Mailing, number: int) -> str:
    """What the clinic prints as this file."""
    policy = current_policy()
    items = mailing.items.filter(batch=number).select_related("patient", "mailing")
    return letters_html(mailing, [letter_of(item, policy) for item in items], policy)
