"""The owner's rules for reviews and ranges of effect: page, services and database."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.review_rules.errors import RuleTaken
from clinic.review_rules.models import EffectDuration, ReviewRule
from clinic.review_rules.queries import rule_book
from clinic.review_rules.services import save_rule
from planning.atlas.region_groups import RegionGroup
from planning.review_rules import Given, ReviewEvent
from planning.vocabulary import ProductKind
from tests.factories import make_rule

pytestmark = pytest.mark.django_db
LIST, NEW = reverse("review-rule-list"), reverse("review-rule-create")
NEW_DURATION = reverse("duration-create")
FILLER, TOXIN = ProductKind.HA_FILLER, ProductKind.TOXIN
TYPED = {
    "label": "Lip look", "kind": "ha_filler", "group": "lips", "event": "first", "count": "2",
    "unit": "week", "early_days": "2", "late_days": "7", "rolling": "following",
    "backing": "common_practice", "source": "", "is_active": "on",
}  # fmt: skip
RANGE = {
    "kind": "ha_filler", "group": "lips", "least_months": "6", "most_months": "9",
    "backing": "clinic_policy", "source": "",
}  # fmt: skip


def test_a_rule_is_added_and_the_trail_keeps_what_it_says(signed_in, owner):
    client = signed_in(owner)
    assert client.post(NEW, TYPED).headers["Location"] == LIST
    rule = ReviewRule.objects.get()
    assert (rule.kind, rule.group, rule.event, rule.count, rule.unit) == (
        "ha_filler", "lips", "first", 2, "week",
    )  # fmt: skip
    page = client.get(LIST).content.decode()
    for words in ("Lip look", "Lips and mouth", "2 days before to 7 after", "Everything else"):
        assert words in page
    assert AuditEvent.objects.get(action="review_rule.saved").actor == owner


def test_only_what_differs_is_in_the_trail(signed_in, owner):
    rule = make_rule("Lip look", kind="ha_filler", group="lips", event="first", early_days=2,
                     backing="common_practice")  # fmt: skip
    url = reverse("review-rule-edit", args=[rule.pk])
    client = signed_in(owner)
    client.post(url, TYPED)
    assert not AuditEvent.objects.filter(action="review_rule.saved").exists()
    client.post(url, TYPED | {"count": "3"})
    event = AuditEvent.objects.get(action="review_rule.saved")
    assert event.data == '{"after":{"count":3},"before":{"count":2}}'


def test_the_first_day_that_suits_may_be_the_one_after_the_treatment(signed_in, owner):
    assert signed_in(owner).post(NEW, TYPED | {"early_days": "13"}).status_code == 302


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"label": " "}, "label", "Name is required."),
        ({"count": "0"}, "count", "whole number from 1 to 400"),
        ({"count": "two"}, "count", "whole number from 1 to 400"),
        ({"late_days": "401"}, "late_days", "whole number from 0 to 400"),
        ({"unit": "year"}, "unit", "not one of the available choices"),
        ({"group": "ear"}, "group", "not one of the available choices"),
        # 3 days, 10 days before: a day before the treatment itself.
        ({"count": "3", "unit": "day", "early_days": "10"}, "early_days", "at most 2"),
        ({"early_days": "14"}, "early_days", "at most 13"),  # the day of the treatment
        ({"count": "1", "unit": "month", "early_days": "28"}, "early_days", "at most 27"),
        ({"backing": "published"}, "source", "Name the publication"),
    ],
)
def test_what_cannot_be_is_explained_on_its_field(signed_in, owner, typed, field, words):
    answer = signed_in(owner).post(NEW, TYPED | typed)
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors[field])
    assert not ReviewRule.objects.exists()


def test_two_rules_in_use_for_the_same_are_refused_and_one_out_of_use_is_not(signed_in, owner):
    client = signed_in(owner)
    client.post(NEW, TYPED)
    answer = client.post(NEW, TYPED | {"label": "Another"})
    assert answer.status_code == 422
    assert "Another rule in use is for the same product" in answer.content.decode()
    without_use = TYPED | {"label": "Another"}
    del without_use["is_active"]
    assert client.post(NEW, without_use).status_code == 302
    assert ReviewRule.objects.count() == 2


def test_of_two_owners_at_one_moment_the_slower_is_told(owner, monkeypatch):
    """The check comes before the other one's rule is stored, its own row after it."""
    make_rule("The other's", kind="ha_filler", group="lips", event="first")
    checks = iter([lambda rule: None])
    real = ReviewRule.validate_constraints
    monkeypatch.setattr(
        ReviewRule, "validate_constraints", lambda rule, **_: next(checks, real)(rule)
    )
    rule = ReviewRule(label="Mine", kind="ha_filler", group="lips", event="first", count=1)
    with pytest.raises(RuleTaken, match="Another rule in use is for the same product"):
        save_rule(rule=rule, actor=owner)
    assert ReviewRule.objects.get().label == "The other's"


def test_a_range_of_effect_is_added_changed_and_removed(signed_in, owner):
    client = signed_in(owner)
    client.post(NEW_DURATION, RANGE)
    duration = EffectDuration.objects.get()
    assert "6 to 9 months" in client.get(LIST).content.decode()
    url = reverse("duration-edit", args=[duration.pk])
    client.post(url, RANGE | {"most_months": "12"})
    duration.refresh_from_db()
    assert duration.most_months == 12
    assert client.post(NEW_DURATION, RANGE).status_code == 422, "there is one already"
    client.post(reverse("duration-remove", args=[duration.pk]))
    assert not EffectDuration.objects.exists()
    actions = AuditEvent.objects.filter(action__startswith="effect_duration")
    assert [event.action for event in actions.order_by("id")] == [
        "effect_duration.saved", "effect_duration.saved", "effect_duration.removed",
    ]  # fmt: skip


def test_a_range_that_ends_before_it_starts_says_what_to_type(signed_in, owner):
    answer = signed_in(owner).post(NEW_DURATION, RANGE | {"most_months": "5"})
    assert "Type at least 6" in " ".join(answer.context["form"].errors["most_months"])


def test_the_page_says_what_is_published_and_how_it_is_known(signed_in, owner):
    page = signed_in(owner).get(LIST).content.decode()
    assert "Dilution guide of onabotulinumtoxinA" in page
    assert "(published source)" in page
    assert "No public holidays are kept" in page


@pytest.mark.parametrize("route", ["review-rule-edit", "duration-edit", "duration-remove"])
def test_an_unknown_number_is_not_found(signed_in, owner, route):
    assert signed_in(owner).post(reverse(route, args=[99999])).status_code == 404


def test_an_injector_changes_no_rule(signed_in, injector):
    assert signed_in(injector).post(NEW, TYPED).status_code == 403
    assert not ReviewRule.objects.exists()


# The book


def test_each_thing_given_chooses_its_rule_and_what_none_is_for_the_general_one(owner):
    lips = make_rule("Lips", group="lips")
    make_rule("Out of use", kind="toxin", is_active=False)
    book = rule_book(on_or_after=date(2026, 11, 2))
    given = [
        Given(FILLER, RegionGroup.LIPS),
        Given(FILLER, RegionGroup.MIDFACE),
        Given(TOXIN, RegionGroup.UPPER_FACE),
    ]
    events = {FILLER: ReviewEvent.FIRST, TOXIN: ReviewEvent.LATER}
    assert book.keys_after(given, events) == {lips.pk, None}


def test_an_adverse_event_takes_the_most_specific_rule_of_what_was_given(owner):
    general = make_rule("Look soon", kind="", event="adverse_event", count=2, unit="day")
    toxin = make_rule("Toxin, look", kind="toxin", event="adverse_event", count=3, unit="day")
    book = rule_book(on_or_after=date(2026, 11, 2))
    assert book.key_after_event([FILLER, TOXIN], None) == toxin.pk
    assert book.key_after_event([FILLER], RegionGroup.LIPS) == general.pk
    assert book.key_after_event([], None) == general.pk


def test_a_rule_s_words_name_label_interval_and_source(owner):
    rule = make_rule("Lips", backing="published", source="Example and others, 2020")
    (visit,) = rule_book(on_or_after=date(2026, 11, 2)).visits([rule.pk], date(2026, 11, 2))
    assert visit.words == "Lips: 2 weeks after the session (Example and others, 2020)"


def test_the_book_is_read_in_three_queries(owner, django_assert_num_queries):
    for number in range(3):
        make_rule(f"Rule {number}", is_active=False)
    with django_assert_num_queries(3):
        rule_book(on_or_after=date(2026, 11, 2)).visits([None], date(2026, 11, 2))


# The database


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"kind": "glue"}, "review_rule_kind_is_known"),
        ({"group": "ear"}, "review_rule_group_is_known"),
        ({"event": "birthday"}, "review_rule_event_is_known"),
        ({"unit": "year"}, "review_rule_unit_is_known"),
        ({"rolling": "sideways"}, "review_rule_rolling_is_known"),
        ({"backing": "hearsay"}, "review_rule_backing_is_known"),
        ({"backing": "published"}, "review_rule_published_says_where"),
        ({"count": 0}, "review_rule_count_positive"),
        ({"label": ""}, "review_rule_has_label"),
    ],
)
def test_the_database_refuses_a_rule_that_cannot_be(fields, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        make_rule(**{"label": "Look", **fields})


def test_the_database_refuses_two_rules_in_use_for_the_same(owner):
    make_rule("One")
    # SQLite names the columns of the broken index instead of its name.
    words = r"review_rule_once_in_use|UNIQUE constraint failed: clinic_reviewrule.kind"
    with pytest.raises(IntegrityError, match=words), transaction.atomic():
        make_rule("Two")


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"kind": "glue"}, "effect_duration_kind_is_known"),
        ({"group": "ear"}, "effect_duration_group_is_known"),
        ({"backing": "hearsay"}, "effect_duration_backing_is_known"),
        ({"backing": "published"}, "effect_duration_published_says_where"),
        ({"least_months": 0}, "effect_duration_is_a_range"),
        ({"most_months": 5}, "effect_duration_is_a_range"),
    ],
)
def test_the_database_refuses_a_range_that_cannot_be(fields, constraint):
    fields = {"kind": "ha_filler", "least_months": 6, "most_months": 9, **fields}
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        EffectDuration.objects.create(**fields)


def test_the_database_holds_one_range_for_each_kind_and_part():
    EffectDuration.objects.create(kind="toxin", group="neck", least_months=3, most_months=4)
    with pytest.raises(IntegrityError), transaction.atomic():
        EffectDuration.objects.create(kind="toxin", group="neck", least_months=2, most_months=4)
