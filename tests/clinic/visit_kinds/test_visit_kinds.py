"""How long each kind of visit takes and where it can be, as the owner sets it."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import DEFAULT_MINUTES, visit_kind, visit_kinds
from tests.factories import make_room

pytestmark = pytest.mark.django_db
PAGE = reverse("visit-kind-list")


def typed(**changes) -> dict:
    """The defaults, as the page sends them."""
    sent = {}
    for kind, (minutes, preparation, buffer) in DEFAULT_MINUTES.items():
        sent |= {
            f"{kind}-minutes": minutes, f"{kind}-preparation_minutes": preparation,
            f"{kind}-buffer_minutes": buffer, f"{kind}-is_active": "on",
        }  # fmt: skip
    return sent | {f"treatment-{name}": value for name, value in changes.items()}


def test_until_somebody_decides_the_page_shows_defaults_as_such(signed_in, owner):
    answer = signed_in(owner).get(PAGE)
    assert answer.content.decode().count("default, not yet decided") == 6
    treatment = answer.context["forms"][1]
    assert treatment["minutes"].value() == 45
    assert not VisitKind.objects.exists()


def test_one_kind_at_least_stays_offered(signed_in, owner):
    sent = {name: value for name, value in typed().items() if not name.endswith("is_active")}
    answer = signed_in(owner).post(PAGE, sent)
    assert answer.status_code == 422
    assert "Offer at least one kind of visit" in answer.content.decode()
    assert not VisitKind.objects.exists()
    assert signed_in(owner).post(PAGE, sent | {"call-is_active": "on"}).status_code == 302


def test_all_kinds_are_saved_together_with_their_rooms(signed_in, owner):
    rooms = [make_room("Room 1"), make_room("Room 2")]
    client = signed_in(owner)
    chosen = typed(minutes="60", rooms=[str(room.pk) for room in rooms])
    assert client.post(PAGE, chosen).headers["Location"] == PAGE
    treatment = visit_kind(AppointmentKind.TREATMENT)
    assert (treatment.minutes, list(treatment.rooms.all())) == (60, rooms)
    assert "default, not yet decided" not in client.get(PAGE).content.decode()
    assert AuditEvent.objects.filter(action="visit_kind.saved").count() == 6
    client.post(PAGE, typed(minutes="60", rooms=[str(rooms[0].pk)]))
    event = AuditEvent.objects.filter(action="visit_kind.saved").first()
    assert '"after":{"rooms":["Room 1"]}' in event.data
    assert AuditEvent.objects.filter(action="visit_kind.saved").count() == 7


@pytest.mark.parametrize(
    ("change", "name", "words"),
    [
        ({"minutes": "0"}, "minutes", "from 5 to 480, in steps of 5"),
        ({"minutes": "47"}, "minutes", "from 5 to 480, in steps of 5"),
        ({"minutes": "long"}, "minutes", "from 5 to 480, in steps of 5"),
        ({"buffer_minutes": "125"}, "buffer_minutes", "from 0 to 120, in steps of 5"),
        ({"preparation_minutes": ""}, "preparation_minutes", "Preparation before is required."),
        ({"rooms": ["999"]}, "rooms", "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_explained_and_nothing_is_saved(signed_in, owner, change, name, words):
    answer = signed_in(owner).post(PAGE, typed(**change))
    assert answer.status_code == 422
    assert words in " ".join(answer.context["forms"][1].errors[name])
    assert not VisitKind.objects.exists()


def test_the_database_refuses_odd_minutes(owner):
    with pytest.raises(IntegrityError, match="visit_kind_in_whole_steps"), transaction.atomic():
        VisitKind.objects.create(kind="call", minutes=12)


def test_all_kinds_are_read_in_three_queries(owner, django_assert_num_queries):
    kind = VisitKind.objects.create(kind="call", minutes=15)
    kind.rooms.add(make_room())
    with django_assert_num_queries(3):
        kinds = visit_kinds()
        assert [room.site.name for room in kinds[AppointmentKind.CALL].rooms.all()] == ["Larkstone"]
    assert list(kinds) == list(AppointmentKind)


def test_the_desk_changes_no_kind(signed_in, desk):
    assert signed_in(desk).post(PAGE, typed()).status_code == 403
