"""The head of each day: written down once, mailed outside, and what it proves."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
import time_machine
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from clinic.audit.chain import GENESIS, chained_digest, row_text
from clinic.audit.models import AuditEvent, AuditHead
from clinic.audit.queries import verify_chain
from clinic.audit.services import acting
from clinic.audit_heads.models import DailyHead
from clinic.audit_heads.queries import KeptHead, heads_in, own_heads_say, prove
from clinic.audit_heads.services import mail_heads, write_head
from clinic.audit_heads.ticking import tick
from clinic.database import triggers
from clinic.database.models import Counter
from clinic.policy.models import ClinicPolicy
from clinic.policy.services import save_policy

pytestmark = pytest.mark.django_db

TUESDAY = datetime(2026, 12, 1, 9, tzinfo=UTC)


def write_events(count: int, at: datetime = TUESDAY) -> None:
    with acting(None) as trail:
        for number in range(count):
            trail.add("tests.noted", Counter(name=f"n{number}"), after={"number": number})
            trail._events[-1].at = at + timedelta(seconds=number)


def rewritten(change) -> None:
    """
    What somebody with all rights on the database can do: rows taken out, changed and put in by
    `change`, numbered and chained anew to the end.
    """
    rows = change(list(AuditEvent.objects.order_by("id")))
    digest = GENESIS
    for position, row in enumerate(rows, start=1):
        row.id, row.previous_digest = position, digest
        row.digest = digest = chained_digest(digest, row.text)
    triggers.drop_all(connection)
    AuditEvent.objects.all().delete()
    AuditEvent.objects.bulk_create(rows)
    AuditHead.objects.update(count=len(rows), digest=digest)
    triggers.install_all(connection)


def copy_of(row: AuditEvent) -> AuditEvent:
    names = [field.attname for field in AuditEvent._meta.concrete_fields]
    return AuditEvent(**{name: getattr(row, name) for name in names})


def changed(rows: list[AuditEvent]) -> list[AuditEvent]:
    rows[2].data = '{"after":{"number":99}}'
    return rows


WAYS = {
    "changed": changed,
    "removed": lambda rows: [*rows[:2], *rows[3:]],
    "put in": lambda rows: [*rows[:2], copy_of(rows[0]), *rows[2:]],
    "moved": lambda rows: [*rows[:2], rows[3], rows[2], *rows[4:]],
    "cut": lambda rows: rows[:3],
}


def verify(*arguments: str, out: StringIO | None = None) -> list[str]:
    out = out or StringIO()
    call_command("verify_audit", *arguments, stdout=out)
    return out.getvalue().splitlines()


def asked(head: KeptHead) -> list[str]:
    return ["--head", head.digest, "--on", head.day.isoformat()]


def kept() -> KeptHead:
    head = DailyHead.objects.get()
    return KeptHead(head.day, head.digest)


# What a head proves


@given(
    st.lists(st.text("ab", max_size=3), min_size=1, max_size=8),
    st.sampled_from(["change", "remove", "insert", "swap"]),
    st.data(),
)
def test_no_change_below_a_head_leaves_its_digest_in_the_chain(texts, way, data):
    """Over any rows, any head and any of the four ways, with all later digests computed anew."""

    def chain(rows: list[str]) -> list[str]:
        digests = [GENESIS]
        for position, text in enumerate(rows, start=1):
            row = row_text(
                position=position, at=TUESDAY, actor_id=1, action="a", subject_type="s",
                subject_id="1", patient_id=None, data=text,
            )  # fmt: skip
            digests.append(chained_digest(digests[-1], row))
        return digests

    count = data.draw(st.integers(1, len(texts)), label="entries of the head")
    place = data.draw(st.integers(0, count - 1), label="where")
    head, touched = chain(texts)[count], list(texts)
    if way == "change":
        touched[place] += data.draw(st.text("ab", min_size=1, max_size=3))
    elif way == "remove":
        del touched[place]
    elif way == "insert":
        touched.insert(place, data.draw(st.text("ab", max_size=3)))
    else:
        other = data.draw(st.integers(0, count - 1), label="with")
        touched[place], touched[other] = touched[other], touched[place]
    if touched[:count] == texts[:count]:  # two equal rows swapped, or one put beside its like
        assert chain(touched)[count] == head
    else:
        assert head not in chain(touched)


@pytest.mark.parametrize("way", sorted(WAYS))
def test_a_trail_rewritten_to_its_end_is_told_by_a_head_kept_elsewhere(way):
    write_events(5)
    write_head(TUESDAY)
    head = kept()
    write_events(2, TUESDAY + timedelta(days=1))
    assert prove([head]).holds
    rewritten(WAYS[way])
    assert verify_chain().intact  # by itself the chain cannot know
    proof = prove([head])
    assert not proof.holds
    assert proof.heads[0].problem == "no entry of today's chain carries it"
    with pytest.raises(CommandError, match="the trail was rewritten") as refusal:
        verify(*asked(head))
    assert refusal.value.returncode == 1


def test_what_came_after_a_head_is_not_covered_by_it():
    write_events(3)
    write_head(TUESDAY)
    write_events(2, TUESDAY + timedelta(days=1))
    rewritten(lambda rows: rows[:4])
    assert prove([kept()]).holds


def test_several_heads_tell_between_which_entries():
    for day in range(3):
        at = TUESDAY + timedelta(days=day)
        write_events(3, at)
        write_head(at + timedelta(hours=1))
    heads = [
        KeptHead(head.day, head.digest, head.count) for head in DailyHead.objects.order_by("day")
    ]
    rewritten(lambda rows: [*rows[:4], *rows[5:]])
    proof = prove(heads)
    assert [bool(one.problem) for one in proof.heads] == [False, True, True]
    assert proof.where == (
        "Entries 1 to 3 are as they were. The first entry that was touched lies between 4 and 6."
    )
    assert own_heads_say() == (
        "Of the heads in this database, that of Wednesday 2 December 2026 (6 entries) is the first "
        "that differs."
    )


def test_a_head_that_fails_below_one_that_stands_was_misread():
    write_events(2)
    write_head(TUESDAY)
    wrong = KeptHead(date(2026, 11, 30), "a" * 64)
    assert "compare its digits" in prove([wrong, kept()]).where


def test_a_chain_broken_in_itself_tells_which_heads_still_stand():
    write_events(3)
    write_head(TUESDAY)
    write_events(3, TUESDAY + timedelta(days=1))
    triggers.drop_all(connection)
    AuditEvent.objects.filter(id=5).update(action="x")
    triggers.install_all(connection)
    out = StringIO()
    with pytest.raises(CommandError, match="broken at row 5"):
        verify(*asked(kept()), out=out)
    assert "stands: it is entry 3" in out.getvalue()


@pytest.mark.parametrize(
    ("day", "problem"),
    [
        (date(2026, 11, 29), "entry 2 was written after that day"),
        (date(2026, 12, 1), ""),
        (date(2026, 12, 4), "entry 3, before that day, follows it"),
    ],
)
def test_a_head_of_another_day_is_told(day, problem):
    write_events(2)
    write_head(TUESDAY)
    write_events(1, TUESDAY + timedelta(hours=1))
    (checked,) = prove([KeptHead(day, kept().digest)]).heads
    assert checked.problem == problem


def test_the_command_says_that_a_head_stands_and_reads_it_in_eights():
    write_events(4)
    head = write_head(TUESDAY)
    write_events(1, TUESDAY + timedelta(hours=2))
    said = verify("--head", " ".join(head.groups), "--on", "2026-12-01")
    assert said[0] == (
        "the head of Tuesday 1 December 2026 stands: it is entry 4, and 1 follow it."
    )
    assert said[1].startswith("intact: 5 events")


def test_saved_mails_are_read_from_a_file(tmp_path):
    write_events(4)
    head = write_head(TUESDAY)
    file = tmp_path / "mails.txt"
    file.write_text(f"Subject: Head\n\n{head.line}\n2026-99-99 4 {head.digest}\nKeep it.\n")
    assert "stands: it is entry 4" in verify("--heads", str(file))[0]
    file.write_text("Nothing here.")
    with pytest.raises(CommandError, match="no line of DAY ENTRIES DIGEST"):
        verify("--heads", str(file))


@pytest.mark.parametrize(
    "arguments",
    [
        ["--head", "abc", "--on", "2026-12-01"],
        ["--head", "0" * 64, "--on", "1st of December"],
        ["--head", "0" * 64],
        ["--on", "2026-12-01"],
    ],
)
def test_what_is_no_head_is_refused(arguments):
    with pytest.raises(CommandError):
        verify(*arguments)


def test_lines_of_a_text_are_found_wherever_they_stand():
    text = [f"> 2026-12-01 12 {'a' * 64}\n", "2026-12-02 x\n", f"{'b' * 64}\n"]
    assert heads_in(text) == [KeptHead(date(2026, 12, 1), "a" * 64, 12)]


# Written down once a day


def test_a_day_has_one_head_however_often_the_worker_looks():
    assert (write_head(TUESDAY).count, write_head(TUESDAY).digest) == (0, GENESIS)
    write_events(3)
    write_head(TUESDAY + timedelta(hours=5))
    write_head(TUESDAY + timedelta(days=1))
    assert [(str(head.day), head.count) for head in DailyHead.objects.order_by("day")] == [
        ("2026-12-01", 0),
        ("2026-12-02", 3),
    ]


@pytest.mark.parametrize(
    ("statement", "message"),
    [
        ("UPDATE clinic_dailyhead SET count = 9", "as it was written"),
        ("UPDATE clinic_dailyhead SET digest = 'x'", "as it was written"),
        ("UPDATE clinic_dailyhead SET day = '2026-11-01'", "as it was written"),
        ("DELETE FROM clinic_dailyhead", "as it was written"),
        ("UPDATE clinic_dailyhead SET mailed_to = 'a'", "daily_head_mailed_to_somebody"),
    ],
)
def test_the_database_keeps_what_was_written_down(statement, message):
    write_head(TUESDAY)
    with (
        pytest.raises(IntegrityError, match=message),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)


# Mailed


@pytest.fixture
def mailed(owner):
    """The policy names two addresses."""
    policy = ClinicPolicy(
        name="Larkstone Clinic",
        email="desk@larkstone.example",
        head_addresses="keeper@books.example,\nlaw@counsel.example",
    )
    return save_policy(policy=policy, actor=owner)


@time_machine.travel(TUESDAY, tick=False)
def test_the_head_of_the_day_is_mailed_once_with_its_page(mailed):
    write_events(2)
    tick()
    tick()
    (message,) = mail.outbox
    head = DailyHead.objects.get()
    assert message.to == ["keeper@books.example", "law@counsel.example"]
    assert message.subject == "Head of the audit trail, 1 December 2026"
    assert heads_in(message.body.splitlines()) == [KeptHead(head.day, head.digest, head.count)]
    ((name, content, kind),) = message.attachments
    assert (name, kind) == ("audit-head-2026-12-01.pdf", "application/pdf")
    assert content.startswith(b"%PDF")
    assert head.mailed_to.split() == message.to
    assert AuditEvent.objects.filter(action="daily_head.mailed").count() == 1


@time_machine.travel(TUESDAY, tick=False)
def test_without_an_address_nothing_is_mailed_and_nothing_is_wrong():
    tick()
    assert mail.outbox == []
    assert DailyHead.objects.get().problem == ""


def test_a_server_that_is_away_is_told_and_tried_again_in_an_hour(mailed, monkeypatch):
    head = write_head(TUESDAY)

    def refuse(*args, **kwargs):
        raise ConnectionRefusedError("Connection refused")

    with monkeypatch.context() as patch:
        patch.setattr("django.core.mail.EmailMessage.send", refuse)
        mail_heads(TUESDAY)
    head.refresh_from_db()
    assert (head.mailed_at, head.problem) == (None, "Connection refused")
    mail_heads(TUESDAY + timedelta(minutes=59))
    assert mail.outbox == []
    mail_heads(TUESDAY + timedelta(minutes=60))
    head.refresh_from_db()
    assert (len(mail.outbox), head.problem) == (1, "")


def test_a_clinic_without_an_address_of_its_own_is_told(mailed, owner, signed_in):
    mailed.email = ""
    save_policy(policy=mailed, actor=owner)
    write_head(TUESDAY)
    mail_heads(TUESDAY)
    assert "no e-mail address to send from" in DailyHead.objects.get().problem
    page = signed_in(owner).get(reverse("today")).content.decode()
    assert "The head of the audit trail was not mailed" in page


def test_heads_of_before_the_address_was_named_are_not_sent_behind(mailed):
    write_head(TUESDAY - timedelta(days=8))
    write_head(TUESDAY)
    mail_heads(TUESDAY)
    assert [message.subject[-15:] for message in mail.outbox] == ["1 December 2026"]


@pytest.mark.parametrize(
    "typed", ["nobody", "a@b.example; no", "a@b", " , ".join(f"a{n}@b.example" for n in range(11))]
)
def test_what_is_no_address_is_told_on_the_field(owner, signed_in, typed):
    client = signed_in(owner)
    form = client.get(reverse("policy-edit")).context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    answer = client.post(reverse("policy-edit"), {**sent, "head_addresses": typed})
    assert "head_addresses" in answer.context["form"].errors
    assert typed.split(",")[0].strip() in answer.content.decode()


# The page


def test_the_owner_sees_the_heads_and_prints_one(owner, signed_in):
    write_events(2)
    head = write_head(TUESDAY)
    client = signed_in(owner)
    page = client.get(reverse("audit-head-list")).content.decode()
    assert head.digest in page
    assert "mailed to nobody" in page
    pdf = client.get(reverse("audit-head-pdf", args=[head.pk]))
    assert pdf["Content-Type"] == "application/pdf"
    printed = AuditEvent.objects.first()
    assert (printed.action, printed.actor) == ("daily_head.printed", owner)


def test_an_empty_list_says_what_to_do(owner, signed_in):
    page = signed_in(owner).get(reverse("audit-head-list"), {"before": "no day"})
    assert "manage.py work" in page.content.decode()


def test_heads_are_paged_by_their_day(owner, signed_in):
    DailyHead.objects.bulk_create(
        DailyHead(day=TUESDAY.date() - timedelta(days=n), at=TUESDAY, count=n, digest=GENESIS)
        for n in range(33)
    )
    client = signed_in(owner)
    first = client.get(reverse("audit-head-list")).context
    assert len(first["heads"]) == 31
    second = client.get(reverse("audit-head-list"), {"before": str(first["next_before"])}).context
    assert [head.count for head in second["heads"]] == [31, 32]
