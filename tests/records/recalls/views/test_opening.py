"""Opening a case and the page of one, as the owner uses them."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.recalls.models import NoticeFile, RecallCase
from records.recalls.services.closing import close_case
from records.recalls.views.cases import beginning_and_rest
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    refreshed,
)
from tests.records.recalls.cases import PDF, make_case, span

pytestmark = pytest.mark.django_db
NEW = reverse("recall-create")


def row(number: int, **fields) -> dict:
    return {f"spans-{number}-{name}": value for name, value in fields.items()}


def notice(*rows: dict, **fields) -> dict:
    now = timezone.localtime()
    sent = {
        "maker": "Example Maker", "reference": "FSN-14", "recall_class": "2", "text": "Cracked.",
        "notice_on": f"{now:%Y-%m-%d}", "received_at": f"{now:%Y-%m-%dT%H:%M}", "level": "A",
        "spans-TOTAL_FORMS": len(rows), "spans-INITIAL_FORMS": 0, **fields,
    }  # fmt: skip
    for each in rows:
        sent |= each
    return sent


def post(client, *rows: dict, query: str = "", **fields):
    return client.post(NEW + query, notice(*rows, **fields))


def url(case, name: str = "recall-detail", *more) -> str:
    return reverse(name, args=[case.pk, *more])


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


def test_a_case_is_opened_in_one_step(client, product, treated, units):
    answer = post(client, row(0, product=product.pk, lot_first="LOT42"))
    case = RecallCase.objects.get()
    assert answer.headers["Location"] == url(case)
    assert refreshed(units[0].lot).is_quarantined
    page = client.get(url(case))
    words = page.content.decode()
    assert (
        "Recall R0001 is open: the stock is stopped. On the call list: 2. To be pulled: 3." in words
    )
    assert [lap.is_done for lap in page.context["laps"]] == [True, False, False]
    assert "Class II" in words
    assert "DRILL" not in words


def test_an_empty_row_counts_for_nothing_and_two_rows_for_two_lots(client, product, treated):
    rows = [row(n, product=product.pk, lot_first=lot) for n, lot in enumerate(("LOT42", "LOT9"))]
    post(client, *rows, row(2, product="", lot_first=""))
    assert RecallCase.objects.get().spans.count() == 2


def test_a_number_typed_alone_asks_which_product_is_meant(client, owner, product, treated):
    other = make_product("Other filler 1 mL", maker="Other Maker", gtin="09521234543213")
    make_units(owner, other, number="LOT42")
    answer = post(client, row(0, product="", lot_first="LOT42"))
    assert answer.status_code == 422
    assert not RecallCase.objects.exists()
    page = answer.content.decode()
    assert "Which of these does the notice mean?" in page
    assert "Other filler 1 mL · Other Maker · GTIN 09521234543213" in page
    lot = product.lots.get()
    post(client, row(0, product="", lot_first="LOT42", meant=[lot.pk]))
    assert [each.product for each in RecallCase.objects.get().spans.all()] == [product]


def test_both_makers_lots_are_taken_only_if_both_are_ticked(client, owner, product, treated):
    [theirs, *_] = make_units(owner, make_product("Other filler 1 mL"), number="LOT42")
    both = [product.lots.get().pk, theirs.lot_id]
    post(client, row(0, product="", lot_first="LOT42", meant=both))
    assert RecallCase.objects.get().spans.count() == 2


def test_a_single_hit_is_asked_about_too(client, product, treated):
    """It may be the other maker's lot, of which nothing was ever received."""
    answer = post(client, row(0, product="", lot_first="LOT42"))
    assert "Tick what the notice means." in answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"product": "", "lot_first": "L0T42"}, "Easily taken for it: LOT42."),
        ({"product": "", "lot_first": "NONE1"}, "No product here has a lot NONE1."),
        ({"product": "", "lot_first": "A1", "lot_last": "A9"}, "Choose the product"),
        ({"lot_first": ""}, "Type the lot as the notice prints it, or tick every lot."),
        ({"lot_first": "A9", "lot_last": "A1"}, "comes before"),
        ({"lot_first": "A1", "lot_last": "LOT-7"}, "built differently"),
        ({"lot_first": "", "lot_last": "A1", "every_lot": "on"}, "Type the first number too."),
        ({"lot_first": "A1", "every_lot": "on"}, "or tick every lot, not both"),
        ({"lot_first": "Ä1"}, "does not hold “Ä”"),
        ({"lot_first": "A" * 21}, "at most 20 characters"),
        ({"serial_first": "9", "serial_last": "1", "lot_first": "LOT42"}, "comes before"),
        ({"product": "999999", "lot_first": "LOT42"}, "Select a valid choice"),
    ],
)
def test_a_wrong_row_opens_nothing_and_says_why(client, product, treated, fields, words):
    answer = post(client, row(0, **{"product": product.pk, **fields}))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert "Not open yet, and nothing is stopped" in page
    assert not RecallCase.objects.exists()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"maker": ""}, "Maker is required."),
        ({"text": ""}, "What it says is required."),
        ({"received_at": "2999-01-01T10:00"}, "That is still to come."),
        ({"received_at": "yesterday"}, "Type day and time as"),
        ({"notice_on": "1066-10-14"}, "Type a year from 1900"),
        ({"level": "B"}, "Level B has a share of its own"),
        ({"level": "B", "level_percent": "5"}, "Type a whole per cent from 11 to 99."),
        ({"level": "Z"}, "Select a valid choice"),
        ({"recall_class": "4"}, "Select a valid choice"),
        ({"reference": "x" * 101}, "at most 100 characters"),
        ({"spans-TOTAL_FORMS": "many"}, "nothing is stopped"),
    ],
)
def test_a_wrong_notice_opens_nothing_and_says_why(client, product, fields, words):
    answer = post(client, row(0, product=product.pk, lot_first="LOT42"), **fields)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not RecallCase.objects.exists()


def test_a_notice_has_neither_a_day_to_come_nor_came_before_its_own(client, product):
    now = timezone.localtime()
    lot = row(0, product=product.pk, lot_first="LOT42")
    day = f"{now + timedelta(days=2):%Y-%m-%d}"
    assert "That day is still to come." in post(client, lot, notice_on=day).content.decode()
    came = f"{now - timedelta(days=2):%Y-%m-%dT%H:%M}"
    answer = post(client, lot, received_at=came).content.decode()
    assert "cannot have come before its own date" in answer
    assert not RecallCase.objects.exists()
    # West of the maker's clock a letter of tomorrow may come today.
    assert post(client, lot, notice_on=f"{now + timedelta(days=1):%Y-%m-%d}").status_code == 302


def test_a_notice_that_is_too_long_comes_as_a_file(client, product):
    answer = post(client, row(0, product=product.pk, lot_first="LOT42"), text="x" * 10_001)
    assert "At most 10,000 characters" in answer.content.decode()
    assert not RecallCase.objects.exists()


def test_the_rest_of_a_long_notice_is_opened_where_it_stands(client, owner, product):
    text = "Stop using the lot.\n" + "Return what is left. " * 100 + "The last word."
    page = client.get(url(make_case(owner, span(product), text=text))).content.decode()
    before, opened = page.split("The rest of the text")
    assert "Stop using the lot." in before
    assert "The last word." in opened
    assert sum(part.count("left.") for part in (before, opened)) == 100


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("x" * 1_200, ("x" * 1_200, "")),
        ("x" * 1_201, ("x" * 900, "x" * 301)),
        ("x" * 890 + " " + "y" * 400, ("x" * 890, "y" * 400)),
    ],
)
def test_a_notice_is_parted_between_words(text, parts):
    assert beginning_and_rest(text) == parts


def test_a_percent_typed_for_another_level_is_left_out(client, product):
    post(client, row(0, product=product.pk, lot_first="LOT42"), level="C", level_percent="50")
    assert RecallCase.objects.get().level_percent is None


def test_nothing_named_is_asked_for(client):
    page = post(client, row(0, product="", lot_first="")).content.decode()
    assert "Say which product and which lots the notice names." in page


def test_the_notice_s_file_is_kept_and_handed_out_to_be_saved(client, product, owner):
    letter = SimpleUploadedFile("Brief Ä.pdf", PDF, content_type="text/html")
    post(client, row(0, product=product.pk, lot_first="LOT42"), file=letter)
    case = RecallCase.objects.get()
    file = case.files.get()
    answer = client.get(url(case, "recall-notice", file.pk))
    assert (answer.content, answer.headers["Content-Type"]) == (PDF, "application/pdf")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Disposition"].startswith("attachment; filename*=utf-8''Brief")
    assert AuditEvent.objects.filter(action="read", subject_type="noticefile").exists()
    other = make_case(owner, span(product, "OTHER"))
    assert client.get(url(other, "recall-notice", file.pk)).status_code == 404


@pytest.mark.parametrize(
    ("content", "words"), [(b"<html>", "none of them"), (b"", "The submitted file is empty.")]
)
def test_a_file_of_another_kind_opens_nothing(client, product, content, words):
    file = SimpleUploadedFile("letter.pdf", content)
    answer = post(client, row(0, product=product.pk, lot_first="LOT42"), file=file)
    assert words in answer.content.decode()
    assert not RecallCase.objects.exists()


def test_a_form_that_comes_back_says_that_the_file_does_not(client, product):
    file = SimpleUploadedFile("letter.pdf", PDF)
    answer = post(client, row(0, product=product.pk, lot_first=""), file=file)
    assert "Choose the file once more" in answer.content.decode()


def test_a_file_is_added_later_or_refused_where_it_was_chosen(client, case):
    target = url(case, "recall-notice-add")
    client.post(target, {"file": SimpleUploadedFile("more.png", b"\x89PNG\r\n\x1a\n...")})
    assert case.files.get().content_type == "image/png"
    answer = client.post(target, {"file": SimpleUploadedFile("more.exe", b"MZ")})
    assert (answer.status_code, "none of them" in answer.content.decode()) == (422, True)
    assert "Choose the file." in client.post(target).content.decode()
    assert NoticeFile.objects.count() == 1


def test_a_drill_begins_from_the_lot_s_page(client, product, units, treated):
    lot = units[0].lot
    start = f"{NEW}?drill=1&lot={lot.pk}"
    assert (
        f"{NEW}?drill=1&amp;lot={lot.pk}"
        in client.get(reverse("lot-detail", args=[lot.pk])).content.decode()
    )
    page = client.get(start).content.decode()
    assert 'value="LOT42"' in page
    assert "as if the maker had recalled lot LOT42" in page
    post(client, row(0, product=product.pk, lot_first="LOT42"), query="?drill=1", level="E")
    drill = RecallCase.objects.get()
    assert (drill.is_drill, drill.level) == (True, "A")
    assert not refreshed(lot).is_quarantined


@pytest.mark.parametrize("lot", ["x", "-1", "0", "99999", "9" * 30])
def test_a_lot_that_is_none_is_passed_over(client, lot):
    assert client.get(f"{NEW}?lot={lot}").status_code == 200


PAGES = ["recall-detail", "recall-people", "recall-units", "recall-close", "recall-span-add"]


@pytest.mark.parametrize("name", PAGES)
def test_every_page_of_a_drill_says_so(client, drill, name):
    page = client.get(url(drill, name)).content.decode()
    assert '<strong class="drill__word">' in page
    assert page.split("</title>")[0].count("DRILL") == 1


def test_a_person_of_a_drill_is_shown_without_a_way_to_note_an_attempt(client, drill):
    target = url(drill, "recall-person", drill.people.first().pk)
    page = client.get(target).content.decode()
    assert '<strong class="drill__word">' in page
    assert "Note an attempt" not in page
    sent = {"channel": "phone", "outcome": "informed"}
    assert "nobody is contacted" in client.post(target, sent).content.decode()


def test_lots_that_look_alike_are_asked_about_with_a_way_to_add_them(client, owner, case, product):
    [alike, *_] = make_units(owner, product, number="L0T42")
    page = client.get(url(case)).content.decode()
    assert "is easily taken for LOT42" in page
    target = f"{url(case, 'recall-span-add')}?lot={alike.lot_id}"
    assert target in page
    assert 'value="L0T42"' in client.get(target).content.decode()
    client.post(url(case, "recall-span-add"), {"product": product.pk, "lot_first": "L0T42"})
    assert refreshed(alike.lot).is_quarantined
    assert client.get(url(case)).context["questions"] == []


def test_the_same_lot_is_not_added_twice(client, case, product):
    target = url(case, "recall-span-add")
    answer = client.post(target, {"product": product.pk, "lot_first": "LOT42"})
    assert "names HA filler 1 mL, lot LOT42 already" in answer.content.decode()
    assert "Type the lot that is to be added." in client.post(target, {}).content.decode()
    assert case.spans.count() == 1


def test_a_lot_never_received_is_said_to_be(client, owner, product):
    case = make_case(owner, span(product, "NEVERHERE"))
    page = client.get(url(case)).content.decode()
    assert "never received here" in page
    assert "Nobody got anything of it" in client.get(url(case, "recall-people")).content.decode()


def test_units_without_a_serial_number_are_said_to_count(client, owner, product, units):
    case = make_case(owner, span(product, serial_first="S1", serial_last="S9"))
    page = client.get(url(case)).content.decode()
    assert "5 without a serial number that can be compared" in page


def test_looking_at_a_case_finds_who_came_late(client, owner, injector, case, units):
    session = make_session(injector, make_patient(injector, "Cleo Late"))
    put_on_tray(session=session, unit=units[2], actor=injector, deviation="Before the letter")
    make_point(session, units[2], deviation="Before the letter")
    page = client.get(url(case)).content.decode()
    assert "1 found since the list was made" in page
    assert case.people.count() == 3
    listed = client.get(url(case, "recall-people")).content.decode()
    assert "found late" in listed


def test_a_closed_case_tells_of_those_found_since(client, owner, injector, case, units):
    things = dict.fromkeys(("list", "to_pull", "people", "checks"), "Because")
    close_case(case=case, note="All said", explanations=things, actor=owner)
    session = make_session(injector, make_patient(injector, "Cleo Late"))
    put_on_tray(session=session, unit=units[2], actor=injector, deviation="Before the letter")
    make_point(session, units[2], deviation="Before the letter")
    page = client.get(url(case)).content.decode()
    assert "1 found since this case was closed" in page
    assert "What is stored still fits it" in page
    assert case.people.count() == 2


def test_a_case_that_somebody_changed_behind_the_tool_shows_it(client, case, owner):
    RecallCase.objects.filter(pk=case.pk).update(
        closed_at=timezone.now(), closed_by=owner, closed_digest="0" * 64
    )
    assert "not as it was closed" in client.get(url(case)).content.decode()


def test_the_expected_end_is_set_on_the_page(client, case):
    day = timezone.localdate() + timedelta(days=9)
    client.post(url(case, "recall-end"), {"day": day.isoformat()})
    assert client.get(url(case)).context["status"].expected_end_on == day
    answer = client.post(url(case, "recall-end"), {"day": "soon"})
    assert (answer.status_code, "Type the day as" in answer.content.decode()) == (422, True)


def test_the_clock_is_asked_for_while_the_case_is_open(client, owner, case):
    clock = url(case, "recall-clock")
    page = client.get(clock).content.decode()
    assert f'hx-get="{clock}" hx-trigger="every 15s"' in page
    assert "<html" not in page
    things = dict.fromkeys(("list", "to_pull", "people", "checks"), "Because")
    close_case(case=case, note="", explanations=things, actor=owner)
    assert "hx-get" not in client.get(clock).content.decode()


def test_the_list_shows_open_closed_and_drills_apart(client, owner, case, drill, product):
    old = make_case(owner, span(product, "OLD1"))
    things = dict.fromkeys(("list", "checks"), "Because")
    close_case(case=old, note="", explanations=things, actor=owner)
    context = client.get(reverse("recall-list")).context
    shown = {name: [each.case for each in context[name]] for name in ("open", "closed", "drills")}
    assert shown == {"open": [case], "closed": [old], "drills": [drill]}
    today = client.get("/").content.decode()
    assert "Recall R0001: 0 of 2 reached" in today
    assert "D0001" not in today


def test_without_any_case_the_list_says_what_to_do(client):
    page = client.get(reverse("recall-list")).content.decode()
    assert "No recall is open" in page
    assert "No drill yet" in page
