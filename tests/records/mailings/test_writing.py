"""Letters are written a file at a time, each exactly once."""

import hashlib
import json

import pytest

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from records.mailings.enums import MailingState
from records.mailings.errors import MailingError
from records.mailings.models import LetterBatch
from records.mailings.queries import items_to_look_at
from records.mailings.services import letters, starting
from records.mailings.services.steps import write_next
from tests.factories import make_mailing, make_patient, refreshed

pytestmark = pytest.mark.usefixtures("policy", "printed")


@pytest.fixture
def two_files(owner, people, monkeypatch):
    """Letters to three people, two in the first file and one in the second."""
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 2)
    return make_mailing(owner, people)


def states(mailing) -> list[str]:
    return list(mailing.items.values_list("state", flat=True))


def test_each_step_writes_one_file_and_the_last_one_ends_the_mailing(two_files, owner):
    stands = write_next(mailing=two_files, actor=owner)
    assert (stands.written, stands.waiting, stands.is_at_end) == (2, 1, False)
    assert refreshed(two_files).finished_at is None
    stands = write_next(mailing=two_files, actor=owner)
    assert (stands.written, stands.is_at_end) == (3, True)
    assert refreshed(two_files).finished_at is not None
    assert list(two_files.batches.values_list("number", "letters")) == [(1, 2), (2, 1)]


def test_a_step_beyond_the_end_changes_nothing(two_files, owner, printed):
    for _ in range(3):
        write_next(mailing=two_files, actor=owner)
    events = AuditEvent.objects.count()
    write_next(mailing=two_files, actor=owner)
    assert (len(printed), LetterBatch.objects.count()) == (2, 2)
    assert AuditEvent.objects.count() == events


def test_the_file_is_kept_byte_by_byte_with_its_digest(two_files, owner, printed):
    write_next(mailing=two_files, actor=owner)
    batch = two_files.batches.get()
    assert bytes(batch.pdf) == b"%PDF " + printed[0].encode()
    assert batch.digest == hashlib.sha256(bytes(batch.pdf)).hexdigest()


def test_file_and_each_letter_are_in_the_audit_trail(two_files, owner, people):
    write_next(mailing=two_files, actor=owner)
    file = AuditEvent.objects.get(action="mailing.file_written")
    batch = two_files.batches.get()
    assert json.loads(file.data)["after"] == {"number": 1, "letters": 2, "digest": batch.digest}
    written = AuditEvent.objects.filter(action="mailing.written").order_by("id")
    assert [event.patient_id for event in written] == [people[0].pk, people[1].pk]
    assert verify_chain().intact


def test_words_are_those_of_each_patient_and_of_the_day_it_was_started(owner, people, printed):
    make = make_mailing(
        owner, people[:1], body="{name}: lot {lot} on {treated_on}. {clinic}, {phone}, {date}",
        words={"lot": "7741 <b>", "treated_on": "3 March 2026"},
    )  # fmt: skip
    write_next(mailing=make, actor=owner)
    day = f"{make.started_at:%-d %B %Y}"
    assert (
        "Ann Example: lot 7741 &lt;b&gt; on 3 March 2026. "
        f"Larkstone Face Clinic, 020\xa07946\xa00123, {day}"
    ) in printed[0]


def test_an_address_that_has_gone_since_is_left_out(two_files, owner, people, printed):
    people[0].address = ""
    people[0].save()
    write_next(mailing=two_files, actor=owner)
    assert states(two_files) == ["left_out", "written", "waiting"]
    assert "Ann Example" not in printed[0]
    assert two_files.batches.get().letters == 1


def test_a_file_in_which_nobody_is_left_is_none(owner, people, printed):
    mailing = make_mailing(owner, people[:1])
    people[0].address = ""
    people[0].save()
    stands = write_next(mailing=mailing, actor=owner)
    assert (stands.is_at_end, stands.left_out) == (True, 1)
    assert not mailing.batches.exists()
    assert printed == []


def test_letters_that_cannot_be_printed_are_told_of(owner, desk, people, printed):
    strange = make_patient(desk, "陳美玲 Chan", address="5 Sample Street")
    mailing = make_mailing(owner, [people[0], strange])
    write_next(mailing=mailing, actor=owner)
    (item,) = items_to_look_at(mailing)
    assert (item.patient, item.state) == (strange, MailingState.WRITTEN)
    assert item.problem == "Some letters of the text cannot be printed; each place is marked [?]."
    assert printed[0].count("[?] Chan") == 2  # in the window and in the text
    assert "陳" not in printed[0]


def test_whoever_started_it_notes_each_letter_in_the_same_transaction(
    two_files, owner, only_occasion
):
    noted = []

    def note(mailing, items, trail):
        noted.extend(item.patient.full_name for item in items)
        if len(noted) > 2:
            raise RuntimeError("cut off")

    only_occasion(noted=note)
    write_next(mailing=two_files, actor=owner)
    assert noted == ["Ann Example", "Zoë Ångström-Łęcki"]
    with pytest.raises(RuntimeError, match="cut off"):
        write_next(mailing=two_files, actor=owner)
    assert states(two_files) == ["written", "written", "waiting"]
    assert two_files.batches.count() == 1


def test_what_is_over_is_not_written_on(two_files, owner, only_occasion):
    only_occasion(refusal=lambda mailing: "" if mailing.batches.count() == 0 else "It is over.")
    write_next(mailing=two_files, actor=owner)
    with pytest.raises(MailingError, match="It is over"):
        write_next(mailing=two_files, actor=owner)
    assert states(two_files) == ["written", "written", "waiting"]


def test_a_file_that_another_process_wrote_meanwhile_is_not_stored_again(
    two_files, owner, monkeypatch
):
    render = letters.render_pdf

    def slowly(html: str) -> bytes:
        monkeypatch.setattr(letters, "render_pdf", render)
        write_next(mailing=two_files, actor=owner)
        return b"%PDF late"

    monkeypatch.setattr(letters, "render_pdf", slowly)
    stands = write_next(mailing=two_files, actor=owner)
    assert (stands.written, stands.waiting) == (2, 1)
    assert bytes(two_files.batches.get().pdf) != b"%PDF late"
    assert AuditEvent.objects.filter(action="mailing.written").count() == 2
