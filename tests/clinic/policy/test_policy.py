"""The clinic's policy: what it refuses, what the trail keeps, and the page."""

from datetime import date, time, timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.errors import PolicyError
from clinic.policy.models import ClinicPolicy, Closure
from clinic.policy.queries import current_policy, review_example
from clinic.policy.services import add_closure, remove_closure, save_policy
from planning.care import CareKind
from planning.quiet_hours import QuietHours
from planning.review_dates import NoOpenDayError
from tests.factories import make_appointment, make_closure, make_patient

EDIT, ADD = reverse("policy-edit"), reverse("closure-list")
TYPED = {
    "name": "Riverside Clinic", "address": "1 Example Street", "phone": "", "email": "",
    "emergency_contact": "On call", "open_weekdays": ["1", "2", "6"], "review_count": "3",
    "review_unit": "week", "review_lead_days": "5", "review_grace_days": "6",
    "contact_tries": "4",
    "top_up_days": "30", "offer_minutes": "90", "offer_margin_minutes": "30",
    "quiet_from": "21:00", "quiet_until": "07:30",
    "expiry_warning_days": "90", "expiry_urgent_days": "20", "reorder_weeks": "8",
    "reorder_spare_days": "10", "reading_hours": "12", "minimum_age_years": "21",
    "toxin_interval_days": "100", "toxin_ceiling_centiunits": "360",
    "filler_ul_per_60_kg_year": "20", "tablet_lock_minutes": "3",
    "plan_preference": "cost", "currency": "gbp",
    "access_records_an_hour": "50", "access_reason_days": "30", "access_margin_minutes": "30",
    "access_from": "07:00", "access_until": "19:00", "head_addresses": "keeper@books.example",
}  # fmt: skip
CLOSED = {"starts_on": "2030-12-24", "ends_on": "2031-01-01", "reason": "Holidays"}


def remove_url(closure) -> str:
    return reverse("closure-remove", kwargs={"pk": closure.pk})


HOLIDAYS = {"holiday_country": "GB", "holiday_part": "England"}


# Services and the database


def test_only_what_differs_is_in_the_trail(owner):
    policy = save_policy(policy=ClinicPolicy(name="One"), actor=owner)
    policy.name = "Two"
    save_policy(policy=policy, actor=owner)
    save_policy(policy=policy, actor=owner)
    events = AuditEvent.objects.filter(action="policy.changed")
    assert events.count() == 2
    assert events[0].data == '{"after":{"name":"Two"},"before":{"name":"One"}}'


@pytest.mark.parametrize("days", [[], [0], [8], [1, 1], [2, 1], ["1"], None, {"1": 1}, [True]])
def test_open_weekdays_that_cannot_be_are_refused(owner, days):
    with pytest.raises(PolicyError, match=r"Weekdays are|Choose at least one day"):
        save_policy(policy=ClinicPolicy(open_weekdays=days), actor=owner)
    assert not ClinicPolicy.objects.exists()


def test_there_is_one_policy(owner):
    save_policy(policy=ClinicPolicy(), actor=owner)
    with pytest.raises(IntegrityError, match="policy_is_one_row"), transaction.atomic():
        ClinicPolicy.objects.bulk_create([ClinicPolicy(id=2)])


def test_a_closure_ends_on_or_after_its_first_day(db):
    with pytest.raises(IntegrityError, match="closure_ends_after_start"), transaction.atomic():
        Closure.objects.create(
            starts_on=date(2030, 1, 2), ends_on=date(2030, 1, 1), reason="Turned round"
        )


def test_a_closure_of_more_than_a_year_is_refused(owner):
    with pytest.raises(PolicyError, match="at most a year"):
        make_closure(owner, starts_on=date(2030, 1, 1), ends_on=date(2031, 1, 2))
    assert make_closure(owner, starts_on=date(2030, 1, 1), ends_on=date(2031, 1, 1)).pk


def test_closures_come_and_go_in_the_trail(owner):
    closure = make_closure(owner)
    remove_closure(closure=closure, actor=owner)
    assert not Closure.objects.exists()
    actions = AuditEvent.objects.values_list("action", flat=True)
    assert list(actions) == ["closure.removed", "closure.added"]
    assert '"reason":"Holidays"' in AuditEvent.objects.first().data


# The rule at work; dates by the calendar of 2026, 25 November being a Wednesday


@pytest.mark.parametrize(
    ("policy", "target"),
    [
        ({}, date(2026, 12, 9)),  # 14 days later, a Wednesday
        ({"review_count": 3}, date(2026, 11, 30)),  # Saturday 28 moves to Monday
        ({"review_count": 3, "open_weekdays": [6]}, date(2026, 11, 28)),
        ({"review_count": 1, "review_unit": "month"}, date(2026, 12, 28)),  # 25 Dec is closed
    ],
)
def test_the_example_is_computed_by_the_clinics_rule(owner, policy, target):
    add_closure(
        closure=Closure(
            starts_on=date(2026, 12, 24), ends_on=date(2026, 12, 27), reason="Holidays"
        ),
        actor=owner,
    )
    assert review_example(ClinicPolicy(**policy), date(2026, 11, 25)).target == target


def test_a_clinic_closed_throughout_has_no_example(owner):
    policy = ClinicPolicy(open_weekdays=[3])
    for start, end in [
        (date(2026, 1, 1), date(2026, 12, 31)),
        (date(2027, 1, 1), date(2027, 12, 31)),
    ]:
        make_closure(owner, starts_on=start, ends_on=end)
    with pytest.raises(NoOpenDayError):
        review_example(policy, date(2026, 1, 1))


# The page


def test_the_policy_is_saved_in_base_units(signed_in, owner):
    answer = signed_in(owner).post(EDIT, TYPED)
    assert (answer.status_code, answer["Location"]) == (302, EDIT)
    policy = current_policy()
    assert policy.open_weekdays == [1, 2, 6]
    assert (policy.review_count, policy.review_unit) == (3, "week")
    assert policy.toxin_ceiling_centiunits == 36_000
    assert policy.filler_ul_per_60_kg_year == 20_000
    assert policy.tablet_lock_minutes == 3
    plans = (policy.plan_preference, policy.one_plane_a_unit, policy.currency)
    assert plans == ("cost", False, "GBP")
    stock = (policy.expiry_warning_days, policy.expiry_urgent_days, policy.reading_hours)
    assert stock == (90, 20, 12)
    assert (policy.reorder_weeks, policy.reorder_spare_days) == (8, 10)
    assert (policy.offer_minutes, policy.offer_margin_minutes) == (90, 30)
    assert policy.quiet == QuietHours(time(21), time(7, 30))
    assert not policy.offers_go_on
    assert '"toxin_ceiling_centiunits":"360 units"' in AuditEvent.objects.first().data


def test_the_clinics_own_figures_are_saved_and_told_in_words(signed_in, owner):
    own = {
        "filler_session_ul": "4", "toxin_session_centiunits": "64", "side_difference_percent": "",
        "wait_vaccine_days": "14", "wait_dental_days": "", "wait_skin_days": "28",
        "wait_surgery_days": "180",
    }  # fmt: skip
    signed_in(owner).post(EDIT, TYPED | own)
    policy = current_policy()
    assert (policy.filler_session_ul, policy.toxin_session_centiunits) == (4_000, 6_400)
    assert policy.side_difference_percent is None
    assert policy.wait_days == {
        CareKind.VACCINE: 14, CareKind.SKIN: 28, CareKind.SURGERY: 180,
    }  # fmt: skip
    told = AuditEvent.objects.first().data
    assert '"filler_session_ul":"4 mL"' in told
    assert '"toxin_session_centiunits":"64 units"' in told


def test_an_empty_limit_is_not_checked(signed_in, owner):
    signed_in(owner).post(EDIT, TYPED | {"filler_ul_per_60_kg_year": ""})
    assert current_policy().filler_ul_per_60_kg_year is None


def test_saving_the_page_as_it_is_writes_no_event(signed_in, owner):
    client = signed_in(owner)
    client.post(EDIT, TYPED)
    form = client.get(EDIT).context["form"]
    values = {name: form[name].value() for name in form.fields}
    client.post(EDIT, {name: "" if value is None else value for name, value in values.items()})
    assert AuditEvent.objects.filter(action="policy.changed").count() == 1


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"open_weekdays": []}, "open_weekdays", "at least one day"),
        ({"open_weekdays": ["8"]}, "open_weekdays", "not one of the available choices"),
        ({"open_weekdays": ["x"]}, "open_weekdays", "not one of the available choices"),
        ({"review_count": "0"}, "review_count", "whole number from 1 to 400"),
        ({"review_count": "401"}, "review_count", "whole number from 1 to 400"),
        ({"review_count": "two"}, "review_count", "whole number from 1 to 400"),
        ({"review_unit": "year"}, "review_unit", "not one of the available choices"),
        ({"review_grace_days": "-1"}, "review_grace_days", "whole number from 0 to 400"),
        ({"toxin_ceiling_centiunits": "many"}, "toxin_ceiling_centiunits", "not an amount"),
        ({"toxin_ceiling_centiunits": "400 mL"}, "toxin_ceiling_centiunits", "units, not mL"),
        ({"filler_ul_per_60_kg_year": "0"}, "filler_ul_per_60_kg_year", "above 0"),
        ({"filler_session_ul": "4 units"}, "filler_session_ul", "mL, not units"),
        ({"toxin_session_centiunits": "0"}, "toxin_session_centiunits", "above 0"),
        ({"side_difference_percent": "101"}, "side_difference_percent", "from 1 to 100"),
        ({"wait_dental_days": "0"}, "wait_dental_days", "whole number from 1 to 3,650"),
        ({"email": "nobody"}, "email", "valid email"),
        ({"name": ""}, "name", "required"),
        ({"phone": "abc"}, "phone", "Type a telephone number"),
        ({"minimum_age_years": "99999"}, "minimum_age_years", "whole number from 12 to 120"),
        ({"expiry_urgent_days": "91"}, "expiry_urgent_days", "type at most 90"),
        ({"reorder_weeks": "0"}, "reorder_weeks", "whole number from 1 to 104"),
        ({"reorder_spare_days": "366"}, "reorder_spare_days", "whole number from 0 to 365"),
        ({"offer_minutes": "4"}, "offer_minutes", "whole number from 5 to 10,080"),
        ({"offer_margin_minutes": "2881"}, "offer_margin_minutes", "whole number from 0 to 2,880"),
        ({"quiet_from": "late"}, "quiet_from", "valid time"),
        ({"reading_hours": "169"}, "reading_hours", "whole number from 1 to 168"),
        ({"tablet_lock_minutes": "0"}, "tablet_lock_minutes", "whole number from 1 to 60"),
        ({"tablet_lock_minutes": "61"}, "tablet_lock_minutes", "whole number from 1 to 60"),
    ],
)
def test_bad_input_keeps_what_was_typed(signed_in, owner, change, field, message):
    typed = TYPED | change
    answer = signed_in(owner).post(EDIT, typed)
    assert answer.status_code == 200
    form = answer.context["form"]
    assert message in " ".join(form.errors[field])
    assert {name: form[name].value() for name in typed} == typed
    assert not ClinicPolicy.objects.exists()


def test_limits_stand_beside_their_source(signed_in, owner):
    page = signed_in(owner).get(EDIT).content.decode()
    for shown in (
        "FDA page on dermal fillers",
        "Professional page on onabotulinumtoxinA",
        "US cosmetic label highlights",
        "From memory, please check: Class statement in US filler instructions",
    ):
        assert shown in page


def test_the_example_is_shown_for_today(signed_in, owner):
    answer = signed_in(owner).get(EDIT)
    assert answer.context["example"] == review_example(ClinicPolicy(), timezone.localdate())
    assert answer.context["example"].target.strftime("%a") in answer.content.decode()


@time_machine.travel("2026-11-30 09:00Z", tick=False)
def test_the_public_holidays_to_the_end_of_next_year_stand_beside_the_closures(signed_in, owner):
    """Bank holidays of England as the United Kingdom publishes them (gov.uk/bank-holidays)."""
    client = signed_in(owner)
    assert "The clinic keeps no public holidays" in client.get(ADD).content.decode()
    save_policy(
        policy=ClinicPolicy(holiday_country="GB", holiday_part="ENG", open_weekdays=[1, 2, 3]),
        actor=owner,
    )
    answer = client.get(ADD)
    listed = {one.day: one.is_closed_anyway for one in answer.context["holidays"]}
    assert (min(listed), max(listed)) == (date(2026, 12, 25), date(2027, 12, 28))
    assert (listed[date(2026, 12, 25)], listed[date(2026, 12, 28)]) == (True, False)
    page = answer.content.decode()
    assert "Fri 25 Dec 2026" in page
    assert "Good Friday" in page
    assert "Check it against the local calendar" in page


def test_a_closure_is_added_and_removed(signed_in, owner):
    client = signed_in(owner)
    assert client.post(ADD, CLOSED).status_code == 302
    closure = Closure.objects.get()
    assert "24 Dec 2030" in client.get(ADD).content.decode()
    assert client.post(remove_url(closure)).status_code == 302
    assert not Closure.objects.exists()


def test_a_closure_that_is_over_is_refused_on_its_last_day(signed_in, owner):
    """It would be stored and never shown: the page lists those still to come."""
    client, today = signed_in(owner), timezone.localdate()
    yesterday, long_ago = today - timedelta(days=1), today - timedelta(days=9)
    typed = CLOSED | {"starts_on": long_ago.isoformat(), "ends_on": yesterday.isoformat()}
    form = client.post(ADD, typed).context["form"]
    assert form.errors == {"ends_on": ["This day has passed. Check the year of the last day."]}
    assert {name: form[name].value() for name in typed} == typed
    assert not Closure.objects.exists()
    assert client.post(ADD, typed | {"ends_on": today.isoformat()}).status_code == 302


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("soon", "Type the day as 31/12/2026 or 2026-12-31."),
        ("2030-02-30", "Type the day as 31/12/2026 or 2026-12-31."),
        ("24/12/30", "Type the day as 31/12/2026 or 2026-12-31."),
        ("0203-12-24", "Type a year from 1900 to 2999."),
        ("3030-12-24", "Type a year from 1900 to 2999."),
    ],
)
def test_a_day_that_is_none_says_how_to_type_it(signed_in, owner, typed, message):
    form = signed_in(owner).post(ADD, CLOSED | {"starts_on": typed}).context["form"]
    assert form.errors["starts_on"] == [message]


def test_a_day_may_be_typed_as_the_sentence_says(signed_in, owner):
    typed = CLOSED | {"starts_on": "24.12.2030", "ends_on": "31/12/2030"}
    assert signed_in(owner).post(ADD, typed).status_code == 302
    closure = Closure.objects.get()
    assert (closure.starts_on, closure.ends_on) == (date(2030, 12, 24), date(2030, 12, 31))


@pytest.mark.parametrize(
    "change",
    [
        {"ends_on": "2030-12-23"},
        {"ends_on": "2032-12-23"},
        {"starts_on": "soon"},
        {"reason": ""},
        {"reason": "x" * 201},
    ],
)
def test_a_closure_that_cannot_be_comes_back_as_typed(signed_in, owner, change):
    typed = CLOSED | change
    answer = signed_in(owner).post(ADD, typed)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert form.errors
    assert {name: form[name].value() for name in typed} == typed
    assert not Closure.objects.exists()


def test_a_clinic_closed_for_two_years_still_has_a_policy_page(signed_in, owner):
    year = timezone.localdate().year
    for start in (year, year + 1, year + 2):
        make_closure(owner, starts_on=date(start, 1, 1), ends_on=date(start, 12, 31))
    assert "No review date can be computed" in signed_in(owner).get(EDIT).content.decode()


def test_strangers_colleagues_unknown_id_and_wrong_method(client, owner, injector, desk):
    closure = make_closure(owner)
    urls = {EDIT: TYPED, ADD: CLOSED, remove_url(closure): {}}
    for url, typed in urls.items():
        assert client.post(url, typed).status_code == 401
    for person in (injector, desk):
        client.force_login(person)
        for url, typed in urls.items():
            assert client.post(url, typed).status_code == 403
    assert (ClinicPolicy.objects.count(), Closure.objects.count()) == (0, 1)
    client.force_login(owner)
    assert client.delete(EDIT).status_code == 405
    assert client.get(remove_url(closure)).status_code == 405
    assert client.post(reverse("closure-remove", kwargs={"pk": 999})).status_code == 404


# Public holidays


def test_a_part_of_a_country_is_typed_by_its_name(signed_in, owner):
    client = signed_in(owner)
    assert client.post(EDIT, TYPED | HOLIDAYS).status_code == 302
    policy = current_policy()
    assert (policy.holiday_country, policy.holiday_part) == ("GB", "ENG")
    page = client.get(EDIT).content.decode()
    assert 'value="England"' in page
    assert '<option value="Scotland">' in page


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"holiday_part": "Bavaria"}, "holiday_part", "Choose one of: England, Northern Ireland"),
        ({"holiday_country": ""}, "holiday_part", "Choose the country as well"),
        ({"holiday_country": "IS"}, "holiday_part", "Leave it empty"),
        ({"holiday_country": "XX"}, "holiday_country", "not one of the available choices"),
        ({"top_up_days": "-1"}, "top_up_days", "whole number from 0 to 400"),
    ],
)
def test_a_country_or_part_that_the_list_does_not_know_is_explained(
    signed_in, owner, typed, field, words
):
    answer = signed_in(owner).post(EDIT, TYPED | HOLIDAYS | typed)
    assert words in " ".join(answer.context["form"].errors[field])
    assert current_policy().holiday_part == ""


@pytest.mark.django_db
def test_the_example_names_the_holiday_that_moved_it():
    # 11 December 2026 + 14 days is Christmas Day; numpy's business days give the 29th.
    policy = ClinicPolicy(holiday_country="GB", holiday_part="ENG")
    example = review_example(policy, date(2026, 12, 11))
    assert example.target == date(2026, 12, 29)
    assert example.reason.endswith("moved from Friday 25 December 2026, Christmas Day")


@pytest.mark.django_db
def test_a_part_without_its_country_is_refused_by_the_database():
    with (
        pytest.raises(IntegrityError, match="policy_holiday_part_of_a_country"),
        transaction.atomic(),
    ):
        ClinicPolicy.objects.create(holiday_part="ENG")


def test_two_owners_do_not_undo_each_other(signed_in, owner):
    """Each had the page open before the other saved; they changed two figures."""
    client = signed_in(owner)
    client.post(EDIT, TYPED)
    page = client.get(EDIT).context["form"]
    seen = {b.html_initial_name: b.initial for b in page if b.field.show_hidden_initial}
    seen = {name: "" if value is None else value for name, value in seen.items()}
    client.post(EDIT, seen | TYPED | {"toxin_interval_days": "120"})
    client.post(EDIT, seen | TYPED | {"reading_hours": "8"})
    policy = current_policy()
    assert (policy.toxin_interval_days, policy.reading_hours) == (120, 8)
    assert policy.toxin_ceiling_centiunits == 36_000


# Closures that are changed, doubled, or lie over visits


def test_a_closure_is_changed_and_the_trail_says_what(signed_in, owner):
    closure = make_closure(owner)
    url = reverse("closure-edit", args=[closure.pk])
    client = signed_in(owner)
    assert (
        client.post(url, CLOSED | {"ends_on": "2031-01-01", "reason": "New floor"}).status_code
        == 302
    )
    closure.refresh_from_db()
    assert closure.reason == "New floor"
    event = AuditEvent.objects.get(action="closure.changed")
    assert event.data == '{"after":{"reason":"New floor"},"before":{"reason":"Holidays"}}'


def test_days_that_are_closed_already_are_refused_in_words(signed_in, owner):
    make_closure(owner)
    client = signed_in(owner)
    for typed in (CLOSED, CLOSED | {"starts_on": "2031-01-01", "ends_on": "2031-01-02"}):
        answer = client.post(ADD, typed)
        assert answer.status_code == 422
        words = (
            "closed then already: Tuesday 24 December 2030 to Wednesday 1 January 2031 (Holidays)"
        )
        assert words in answer.content.decode()
    assert client.get(ADD).status_code == 200, "the address of the refusal can be opened again"
    assert Closure.objects.count() == 1


def test_a_closure_over_booked_visits_is_asked_about_once(signed_in, owner, injector):
    for hour in (10, 11):
        make_appointment(owner, make_patient(owner), injector, f"2030-12-24 {hour}:00")
    client = signed_in(owner)
    answer = client.post(ADD, CLOSED)
    assert "2 visits are in the way" in answer.content.decode()
    assert not Closure.objects.exists()
    confirmed = CLOSED | {"confirmed": answer.context["form"].to_confirm}
    assert client.post(ADD, confirmed).status_code == 302
    assert Closure.objects.exists()
