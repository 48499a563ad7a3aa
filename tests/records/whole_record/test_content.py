"""What stands in a whole record; the PDF itself is read by `tests/test_record_keeping.py`."""

import html
import re

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clinic.printing.documents import document_html
from clinic.printing.pdf import PICTURES_URL
from planning.standard_views import Shot
from records.photographs.enums import Use
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import withdraw_use
from records.sessions.services.points import remove_point
from records.whole_record.enums import Purpose
from records.whole_record.models import WholeRecord
from records.whole_record.queries.record import record_content
from records.whole_record.services import ask_for
from tests.factories import (
    make_patient,
    make_photograph,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)
from tests.records.screening.histories import YES, make_history
from tests.rich_patient import live_on


def record_of(patient, actor):
    asked = ask_for(
        record=WholeRecord(
            patient=patient, purpose=Purpose.LEGAL, recipient="Court of Larkstone", note="Ref 17"
        ),
        actor=actor,
    )
    return record_content(asked)


def printed(patient, actor) -> str:
    record = record_of(patient, actor)
    context = {"record": record, "policy": record.policy, "pictures": PICTURES_URL}
    return document_html("print/whole_record.html", context)


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_a_patient_of_whom_nothing_is_known_has_every_chapter_and_each_says_so(patient, owner):
    record = record_of(patient, owner)
    empty = {chapter.key for chapter in record.chapters if chapter.is_empty}
    assert empty == {chapter.key for chapter in record.chapters} - {"identity"}
    text = words(printed(patient, owner))
    assert text.count("Nothing is on record.") == len(empty)
    for said in ("Court of Larkstone", "A court, an authority or an insurer", "Ref 17", str(owner)):
        assert said in text


def test_every_chapter_of_a_rich_patient_says_something(rich, owner, injector):
    live_on(rich, injector)
    record = record_of(rich.patient, owner)
    assert [chapter.title for chapter in record.chapters if chapter.is_empty] == []


def test_every_link_of_the_contents_leads_to_one_place(rich, owner):
    page = printed(rich.patient, owner)
    links = re.findall(r'<a href="#([\w-]+)">', page)
    assert f"treatment-{rich.session.pk}" in links
    assert all(page.count(f'id="{link}"') == 1 for link in links)


def test_each_version_of_the_history_is_there_and_what_changed_is_marked(rich, owner, injector):
    make_history(injector, rich.patient, infection=YES)
    text = words(printed(rich.patient, owner))
    assert text.count("Are you pregnant, trying for a baby, or breastfeeding?") == 2
    assert "or breastfeeding? No Changed" in text
    assert "sore skin where you are to be treated, or a fever? Yes Changed" in text


def test_a_photograph_says_what_it_may_be_used_for(rich, owner, injector):
    taken, other = rich.patient.photographs.order_by("id")
    withdraw_use(photograph=taken, use=Use.TEACHING, actor=injector)
    take_out_photograph(photograph=other, reason="Of somebody else", actor=injector)
    record = record_of(rich.patient, owner)
    tile, = record.album.tiles  # fmt: skip
    day = timezone.localdate().strftime("%-d %b %Y")
    assert f"Teaching since {day}, withdrawn {day}" in tile.told
    assert record.album.picture(tile.name)[:2] == b"\xff\xd8"
    text = words(printed(rich.patient, owner))
    assert "Front, frown" in text
    assert "Of somebody else" in text


def test_a_photograph_whose_file_is_gone_is_named_as_missing(patient, owner, injector):
    photograph = make_photograph(injector, patient, shot=Shot.of("neck:rest"))
    photograph.file.storage.delete(photograph.file.name)
    page = printed(patient, owner)
    assert "The file is missing." in page
    assert PICTURES_URL not in page


def test_a_point_taken_back_stays_in_the_record(patient, owner, injector):
    unit = make_units(owner, make_product(), number="GONE1")[0]
    session = make_session_with_unit(injector, patient, unit)
    remove_point(point=make_point(session, unit), actor=injector)
    text = words(printed(patient, owner))
    assert "Points taken back" in text
    assert "lot GONE1" in text
    assert "draft, not signed" in text


def test_the_lines_of_the_trail_are_the_patient_s_with_their_digests(rich, owner, desk):
    stranger = make_patient(desk, "Somebody Else")
    record = record_of(rich.patient, owner)
    text = "\n".join(record.trail)
    assert f"session.signed · treatmentsession {rich.session.pk}" in text
    assert "Somebody" not in text
    assert f"patient.registered · patient {stranger.pk} " not in text
    assert all(re.search(r"^\d+ · [\d-]{10} [\d:]{8} · .+ · [0-9a-f]{64}$", line)
               for line in record.trail)  # fmt: skip


def test_what_a_patient_opens_by_a_link_is_not_printed(rich, owner):
    assert "{link}" not in printed(rich.patient, owner)
    assert "[link]" in printed(rich.patient, owner)


def test_names_in_every_script_and_as_long_as_allowed(owner, desk):
    patient = make_patient(desk, "شهرزاد بنت " + "Wolfeschlegelsteinhausenbergerdorff-" * 4 + "Ł")
    page = printed(patient, owner)
    assert f"<bdi>{patient.full_name}</bdi>" in page


def test_more_photographs_and_consents_cost_no_more_queries(rich, owner, injector):
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            record_of(rich.patient, owner)
        return len(found)

    first = queries()
    for _ in range(4):
        make_photograph(injector, rich.patient)
    assert queries() == first <= 60
