"""
The chart note as PDF: 40 points in all three views, from the record to the bytes, against
WeasyPrint alone on HTML that lies ready.

The clinic's part is what lies between: reading the record, drawing the charts, filling the
template.
"""

import logging
from functools import cache
from itertools import product as every
from time import process_time

from django.conf import settings
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration

from clinic.printing.pdf import render_pdf
from planning.vocabulary import ProductKind, View
from records.notes.services import note_html
from records.sessions.errors import SessionError
from records.sessions.models import TreatmentSession
from records.sessions.services.tray import put_on_tray
from tests.bench.building import scaled
from tests.bench.results import Result, compared, interleaved
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    make_user,
)

SIZES = {"default": scaled(40, 6)}
ROUNDS = scaled(15, 2)
GOAL_TO_WEASYPRINT = 1.15
STYLES = settings.BASE_DIR / "static" / "css"


def build(count: int) -> None:
    """Write a session of `count` points, in three views and from two products, by the services."""
    injector = make_user("injector", is_injector=True, is_owner=True)
    session = make_session(injector, make_patient(injector))
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, is_single_patient=False,
        lidocaine_ug_per_ml=0, hours_after_opening=24,
    )  # fmt: skip
    units = [make_units(injector, item, quantity=1)[0] for item in (make_product(), toxin)]
    put_on_tray(session=session, unit=units[0], actor=injector)
    put_on_tray(session=session, unit=units[1], actor=injector, diluent_ul=2_500)
    given = 0
    for (x, y), view in every(every(range(-600, 601, 97), range(-300, 900, 113)), View):
        try:
            make_point(session, units[given % 2], view=view, x_dmm=x, y_dmm=y, amount=20)
        except SessionError:
            continue  # beside the face
        given += 1
        if given == count:
            return
    raise AssertionError(f"Only {given} of {count} places are on the face.")


def measure() -> list[Result]:
    """From the record to the bytes, and the rendering by itself."""
    session = TreatmentSession.objects.select_related("patient", "injector").get()
    html = note_html(session)
    seconds = interleaved(
        ROUNDS,
        # One thread's own work: its processor time, whatever else the machine does.
        clock=process_time,
        note=lambda: render_pdf(note_html(session)),
        rendering=lambda: render_pdf(html),
        alone=lambda: weasyprint_alone(html),
    )
    what = f"Chart note of {session.points.count()} points"
    alone = seconds["alone"]
    return [
        compared(
            f"{what}, from the record, to WeasyPrint alone", seconds["note"], alone,
            goal=GOAL_TO_WEASYPRINT,
        ),
        compared(f"{what}, HTML to bytes, to WeasyPrint alone", seconds["rendering"], alone),
    ]  # fmt: skip


def weasyprint_alone(html: str, *more_sheets: str) -> bytes:
    """The same document by the library's own means, its style sheets and fonts read before."""
    fonts, sheets = _read_before(*more_sheets)
    document = HTML(string=html, base_url=str(STYLES))
    return document.write_pdf(stylesheets=sheets, font_config=fonts, pdf_variant="pdf/ua-1")


@cache
def _read_before(*more_sheets: str) -> tuple[FontConfiguration, list[CSS]]:
    # Our fonts.css names a range of weights, which WeasyPrint reads from the font itself.
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    fonts = FontConfiguration()
    return fonts, [
        CSS(filename=STYLES / name, font_config=fonts)
        for name in ("fonts.css", "print.css", *more_sheets)
    ]
