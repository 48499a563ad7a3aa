"""A sheet says what it compares, for what, and is given out only as long as the patient agrees."""

import io
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from PIL import Image, ImageChops
from pypdfium2 import PdfDocument

from clinic.audit.models import AuditEvent
from planning.vocabulary import Side
from records.comparisons.errors import SheetRefused
from records.comparisons.models import ComparisonSheet
from records.comparisons.queries import compare, compare_sides
from records.comparisons.services.marks import place_marks
from records.comparisons.services.sheets import hand_out_sheet, make_sheet, sheet_html
from records.photographs.enums import Use
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import withdraw_use
from tests.factories import make_patient, make_photograph, make_session
from tests.pdf import page_texts
from tests.records.comparisons.conftest import PLACES
from tests.records.comparisons.test_comparing import LATE
from tests.records.sessions.pictures import drawing, encoded

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(marked, injector):
    return make_sheet(comparison=compare(*marked), use=Use.RECORD, actor=injector)


def test_a_sheet_says_whom_when_what_and_for_what(marked, injector, patient):
    make_session(injector, patient, started_at=marked[0].taken_at + timedelta(days=1), **LATE)
    sheet = make_sheet(comparison=compare(*marked), use=Use.RECORD, actor=injector)
    text = " ".join(page_texts(bytes(sheet.pdf)))
    for words in (
        patient.full_name, patient.record_number, "Front, rest", "112 days apart", "25 Nov 2026",
        "17 Mar 2027", "26 Nov 2026", "Light and pose differ.", "by 3 marks",
        "Record, until it is taken back",
    ):  # fmt: skip
        assert words in text


def test_a_sheet_for_teaching_names_nobody_and_no_day(marked, patient):
    html = sheet_html(compare(*marked), Use.TEACHING)
    assert "For teaching" in html
    for words in (patient.full_name, patient.record_number, "2026", "2027"):
        assert words not in html.split("data:image")[0] + html.split("</svg>")[-1]


def boxes_of_sky(pdf: bytes) -> list[tuple[int, ...]]:
    """Where the drawings' blue corner is in the left half of the page and in the right one."""
    image = PdfDocument(io.BytesIO(pdf))[0].render(scale=2).to_pil().convert("RGB")
    middle = image.width // 2
    halves = [
        image.crop(box)
        for box in ((0, 0, middle, image.height), (middle, 0, image.width, image.height))
    ]
    bands = [half.split() for half in halves]
    is_sky = [
        ImageChops.multiply(
            blue.point(lambda value: 255 * (value > 150)),
            red.point(lambda value: 255 * (value < 90)),
        )
        for red, _, blue in bands
    ]
    return [found.getbbox() for found in is_sky]


def test_a_picture_that_was_turned_is_printed_as_the_earlier_one_stands(first, injector, patient):
    """Turned and enlarged by Pillow; on paper its blue corner is where that of the other is."""
    turned = drawing().transpose(Image.Transpose.ROTATE_90).resize((900, 1200))
    second = make_photograph(
        injector, patient, sent=encoded(turned), taken_at=first.taken_at + timedelta(days=9)
    )
    places = {
        landmark: (round(1.5 * y), round(1.5 * (799 - x))) for landmark, (x, y) in PLACES.items()
    }
    place_marks(photograph=first, places=PLACES, actor=injector)
    place_marks(photograph=second, places=places, actor=injector)
    sheet = make_sheet(comparison=compare(first, second), use=Use.RECORD, actor=injector)
    left, right = boxes_of_sky(bytes(sheet.pdf))
    assert right[2] - right[0] == pytest.approx(left[2] - left[0], abs=3)
    assert (right[1], right[3]) == pytest.approx((left[1], left[3]), abs=3)


def test_a_mirrored_side_is_printed_without_the_half_that_is_not_treated(marked, injector):
    """The blue corner lies in the patient's right half: not in the other one, mirrored."""
    comparison = compare_sides(marked[0], Side.RIGHT)
    sheet = make_sheet(comparison=comparison, use=Use.RECORD, actor=injector)
    treated, mirrored = boxes_of_sky(bytes(sheet.pdf))
    assert treated is not None
    assert mirrored is None


def test_it_is_kept_and_given_out_byte_for_byte(sheet, injector):
    assert hand_out_sheet(sheet=sheet, actor=injector) == bytes(sheet.pdf)
    made = AuditEvent.objects.get(action="comparison_sheet.made")
    assert sheet.digest in made.data
    assert AuditEvent.objects.filter(action="comparison_sheet.printed").count() == 1


def test_nothing_is_printed_that_is_not_agreed_for_both(first, injector, patient):
    other = make_photograph(injector, patient, uses={Use.RECORD: None})
    with pytest.raises(SheetRefused, match="Teaching: the patient does not agree"):
        make_sheet(comparison=compare(first, other), use=Use.TEACHING, actor=injector)
    assert not ComparisonSheet.objects.exists()


def test_a_sheet_is_given_out_no_more_once_it_was_taken_back(sheet, marked, injector):
    withdraw_use(photograph=marked[1], use=Use.RECORD, actor=injector)
    with pytest.raises(SheetRefused, match="does not agree, or no more"):
        hand_out_sheet(sheet=sheet, actor=injector)


def test_a_sheet_of_a_picture_taken_out_is_given_out_no_more(sheet, marked, injector):
    take_out_photograph(photograph=marked[0], reason="Blurred", actor=injector)
    again = ComparisonSheet.objects.get()
    with pytest.raises(SheetRefused, match="taken out of the record"):
        hand_out_sheet(sheet=again, actor=injector)


def refused(change, *args, **fields) -> str:
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        change(*args, **fields)
    return str(error.value)


def test_a_sheet_stays_as_printed(sheet):
    assert "append-only" in refused(ComparisonSheet.objects.update, digest="0" * 64)
    assert "append-only" in refused(ComparisonSheet.objects.all().delete)


@pytest.mark.parametrize(
    ("fields", "rule"),
    [
        ({"second": "first"}, "comparison_sheet_of_two_photographs"),
        ({"second": None}, "comparison_sheet_of_two_or_of_a_side"),
        ({"side": "right"}, "comparison_sheet_of_two_or_of_a_side"),
        ({"second": None, "side": "midline"}, "comparison_sheet_of_two_or_of_a_side"),
        ({"use": "advertising"}, "comparison_sheet_use_is_known"),
        ({"second": "strangers"}, "two patients"),
    ],
)
def test_a_sheet_compares_one_patient_with_themselves(first, second, injector, fields, rule):
    people = {
        "first": first,
        "strangers": make_photograph(injector, make_patient(injector, "Bea Example")),
    }
    if fields.get("second"):
        fields = {**fields, "second": people[fields["second"]]}
    printed = {
        "first": first, "second": second, "use": "record", "pdf": b"%PDF-", "digest": "0" * 64,
        "made_at": timezone.now(), "made_by": injector, **fields,
    }  # fmt: skip
    assert rule in refused(ComparisonSheet.objects.create, **printed)
