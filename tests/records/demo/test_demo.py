"""What the invented clinic holds. The figures are the issue's: about 60, 200, 1,500 and 25."""

from collections import Counter, defaultdict
from datetime import timedelta
from itertools import pairwise

import pytest
from django.core.management import call_command
from django.db.models import F, Sum
from stdnum import ean

from clinic.audit.models import AuditEvent, AuditHead
from clinic.audit.queries import verify_chain
from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.funnel import Verdict
from records.adverse_events.models import AdverseEvent
from records.comparisons.queries import compare, treatments_between
from records.demo.clinic import at, fixture
from records.demo.clock import clock_at
from records.demo.seed import seed
from records.mailings.models import MailTemplate
from records.outcomes.models import ReviewRecord
from records.patients.models import Patient
from records.photographs.models import Photograph
from records.recalls.forms.mailings import CaseMailingForm
from records.reviews.enums import Standing
from records.reviews.models import Review
from records.reviews.queries.work_list import open_reviews
from records.sessions.enums import Remainder
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.balances import unit_checks
from records.usage.queries.events import event_rates
from records.usage.queries.period import Period
from records.waiting_list.models import Offer, WaitingEntry
from records.waiting_list.queries.matching import open_times

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo")]


def test_as_much_as_the_issue_asks_for():
    assert Patient.objects.count() == 60
    assert TreatmentSession.objects.count() == 200
    assert 1_450 <= InjectionEntry.objects.count() <= 1_600
    assert Lot.objects.count() == 25


def test_one_session_is_still_unsigned():
    assert TreatmentSession.objects.unsigned().count() == 1


def test_reviews_in_every_state(demo):
    standing = Counter(row.standing for row in open_reviews(demo, until=demo.replace(year=2030)))
    assert set(standing) == set(Standing)
    outcomes = Counter(Review.objects.values_list("outcome", flat=True))
    assert min(outcomes["done"], outcomes["excused"]) >= 5
    assert 5 <= ReviewRecord.objects.count() < outcomes["done"]


def test_people_wait_and_one_of_them_is_being_offered_a_time(demo):
    offer = Offer.objects.open().get()
    assert offer.entry.is_urgent
    assert offer.appointment.held_until > at(demo, 23, 59)
    assert WaitingEntry.objects.standing().count() == 4
    with clock_at(at(demo, 8)):
        assert [time.freed.starts_at.date() > demo for time in open_times()] == [True]


def test_people_were_photographed_before_a_treatment_and_some_again_after_it():
    series: dict[int, list] = defaultdict(list)
    for photograph in Photograph.objects.order_by("taken_at", "id"):
        series[photograph.patient_id].append(photograph)
        assert photograph.uses.standing().filter(use="record").exists()
    assert sorted(len({one.taken_at for one in taken}) for taken in series.values()) == [1, 2, 2]
    for taken in series.values():
        fronts = [one for one in taken if one.shot.key == "front:rest"]
        if len(fronts) == 2:
            comparison = compare(*fronts)
            assert comparison.marks == 3
            assert comparison.off < 1
            assert treatments_between(comparison)


def test_every_unit_balances():
    assert [check for check in unit_checks() if check.fault] == []
    for unit in UnitOfStock.objects.all():
        assert unit.content == unit.drawn + unit.wasted + unit.remaining
        assert unit.remaining >= 0
    drawn = UnitOfStock.objects.aggregate(sum=Sum("drawn"))["sum"]
    assert drawn == InjectionEntry.objects.aggregate(sum=Sum("amount"))["sum"] > 0


def test_the_stock_shows_each_thing_that_can_be_wrong_with_a_unit(demo):
    shelf = UnitOfStock.objects.in_stock()
    assert shelf.filter(lot__expires_on__lt=demo).exists()
    quarantined = Lot.objects.quarantined().get()
    assert shelf.filter(lot=quarantined).exists()
    assert InjectionEntry.objects.filter(unit__lot=quarantined).exists()  # so there is a recall
    assert set(UnitOfStock.objects.values_list("state", flat=True)) == set(UnitState)


def test_the_adverse_events_of_one_lot_stand_out(demo):
    """As a cluster does, and single events on other lots do not."""
    assert 6 <= AdverseEvent.objects.count() <= 10
    assert AdverseEvent.objects.still_open().exists()
    rates = event_rates(Period(demo - timedelta(days=500), demo))
    outside = {row.lot.number: row.judgement.verdict for row in rates.lots if row.is_outside}
    assert outside == {"LF2409A": Verdict.BEYOND_998}


def test_a_unit_is_kept_for_its_patient():
    kept = SessionUnit.objects.filter(remainder=Remainder.KEPT, unit__content__gt=F("unit__drawn"))
    assert kept.exclude(unit__opening__patient=None).exists()


def test_two_products_share_a_lot_number():
    numbers = Counter(Lot.objects.values_list("number", flat=True))
    assert [number for number, count in numbers.items() if count == 2] == ["7741"]


def test_gtins_are_valid_and_made_up():
    """Checked with python-stdnum; GS1 keeps prefix 952 for examples (GS1 Company Prefix list)."""
    for product in Product.objects.all():
        assert ean.is_valid(product.gtin)
        assert product.gtin[:4] == "0952"


def test_telephone_numbers_are_of_the_range_kept_for_fiction():
    """Ofcom, telephone numbers for drama: mobile numbers 07700 900000 to 900999."""
    assert all(patient.phone.startswith("07700 900") for patient in Patient.objects.all())
    assert all(patient.email.endswith(".example") for patient in Patient.objects.all())


def test_points_lie_on_all_views_and_sides_in_many_regions():
    points = InjectionEntry.objects.all()
    for column, least in (("view", 3), ("side", 3), ("region", 9), ("technique", 5), ("plane", 5)):
        assert points.values(column).distinct().count() >= least


def test_nothing_was_done_on_a_sunday_or_after_today(demo):
    for session in TreatmentSession.objects.all():
        assert session.started_at.isoweekday() != 7
        assert session.started_at.date() < demo


def test_no_unit_was_used_before_it_came_or_after_its_expiry():
    came = dict(StockMovement.objects.filter(kind="received").values_list("unit", "at"))
    # Not joined: all of the demo is one transaction, in which PostgreSQL knows no sizes yet.
    for point in InjectionEntry.objects.prefetch_related("session", "unit__lot"):
        assert came[point.unit_id] <= point.session.started_at
        assert not point.unit.lot.is_expired(point.session.started_at.date())


def test_the_audit_trail_never_goes_back_in_time(demo):
    moments = list(AuditEvent.objects.order_by("id").values_list("at", flat=True))
    assert len(moments) > 3_000
    assert [one for one, later in pairwise(moments) if later < one] == []
    assert moments[-1].date() == demo


def test_the_chain_is_intact_and_sessions_are_as_they_were_signed(capsys):
    assert verify_chain().intact
    call_command("verify_ledger")
    assert "199 signed sessions unchanged" in capsys.readouterr().out


def row_counts() -> dict[str, int]:
    models = (Patient, TreatmentSession, InjectionEntry, Lot, UnitOfStock, StockMovement, Review)
    return {model.__name__: model.objects.count() for model in (*models, User)}


def test_a_second_run_changes_nothing_and_tells_the_logins_again(demo, capsys):
    before, head = row_counts(), AuditHead.objects.get()
    call_command("seed_demo", today=demo)
    assert row_counts() == before
    assert (AuditHead.objects.get().count, AuditHead.objects.get().digest) == (
        head.count,
        head.digest,
    )
    printed = capsys.readouterr().out
    assert "Sign in as:" in printed
    for username in ("desk", "injector", "owner"):
        assert username in printed
        assert User.objects.get(username=username).is_active


def test_each_printed_login_works(client, capsys):
    call_command("seed_demo")
    lines = [line.split() for line in capsys.readouterr().out.splitlines() if "password" in line]
    assert len(lines) == 3
    for *_, username, _, password in lines:
        assert client.login(username=username, password=password)


def test_seeding_twice_in_python_says_so(demo):
    assert seed(demo) is False


def test_the_texts_of_a_recall_are_there_and_a_recall_can_fill_them(demo):
    texts = MailTemplate.objects.all()
    assert len(texts) == 3
    assert texts.filter(name="Recall: e-mail").exists()
    assert set(CaseMailingForm().fields["template"].queryset) == set(texts)


def test_people_and_places_of_the_fixtures_are_all_used():
    assert set(Patient.objects.values_list("full_name", flat=True)) == {
        name for name, _, _ in fixture("patients")
    }
