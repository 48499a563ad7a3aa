"""All letters as one zip, streamed."""

import io
import tracemalloc
from datetime import timedelta
from zipfile import ZIP_STORED, ZipFile

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.mailings.archive import zipped
from records.mailings.models import LetterBatch
from records.mailings.services import starting
from records.mailings.services.steps import write_next
from tests.factories import make_mailing

pytestmark = pytest.mark.usefixtures("policy", "printed")


@pytest.fixture
def written(owner, people, monkeypatch):
    """Three files of a letter each."""
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 1)
    mailing = make_mailing(owner, people)
    while not write_next(mailing=mailing, actor=owner).is_at_end:
        pass
    return mailing


def test_the_zip_holds_each_file_byte_by_byte(written):
    with ZipFile(io.BytesIO(b"".join(zipped(written)))) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == [f"letters-{written.pk}-00{n}.pdf" for n in (1, 2, 3)]
        assert {info.compress_type for info in archive.infolist()} == {ZIP_STORED}
        for batch in written.batches.all():
            name = f"letters-{written.pk}-{batch.number:03d}.pdf"
            assert archive.read(name) == bytes(batch.pdf)


def test_the_same_files_give_the_same_zip(written):
    assert b"".join(zipped(written)) == b"".join(zipped(written))


def test_no_more_than_one_file_is_in_memory(owner, people):
    """Python's own peak (tracemalloc) over twelve files of a megabyte, none of them held."""
    mailing = make_mailing(owner, people)
    size = 1_000_000
    for number in range(1, 13):
        LetterBatch.objects.create(
            mailing=mailing, number=number, letters=1, pdf=bytes(size), digest="0" * 64,
            written_at=mailing.started_at + timedelta(seconds=number),
        )  # fmt: skip
    tracemalloc.start()
    total = sum(len(piece) for piece in zipped(mailing))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert total > 12 * size
    assert peak < 4 * size


def test_a_file_opens_as_pdf_and_the_reading_is_in_the_trail(written, signed_in, owner):
    batch = written.batches.first()
    url = reverse("mailing-letter-file", kwargs={"pk": written.pk, "number": 1})
    answer = signed_in(owner).get(url)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="letters-{written.pk}-001.pdf"'
    assert answer.content == bytes(batch.pdf)
    event = AuditEvent.objects.get(action="mailing.printed")
    assert (event.actor, event.subject_id) == (owner, str(batch.pk))


def test_the_zip_is_streamed_and_the_export_is_in_the_trail(written, signed_in, owner):
    answer = signed_in(owner).get(reverse("mailing-letters", kwargs={"pk": written.pk}))
    assert answer.streaming
    assert answer["Content-Disposition"] == f'attachment; filename="letters-{written.pk}.zip"'
    with ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        assert len(archive.namelist()) == 3
    assert AuditEvent.objects.filter(action="mailing.exported", actor=owner).count() == 1


@pytest.mark.parametrize("number", [4, 0])
def test_a_file_that_is_not_there_is_not_found(written, signed_in, owner, number):
    url = reverse("mailing-letter-file", kwargs={"pk": written.pk, "number": number})
    assert signed_in(owner).get(url).status_code == 404
