"""The page of the protocol, and the form that writes the next version."""

import pytest
from django.urls import reverse

from clinic.protocols.models import Protocol
from clinic.protocols.queries import current_protocol
from planning.occlusion_protocol import SUPPLIED_STEPS, Step
from tests.factories import make_protocol

pytestmark = pytest.mark.django_db


def sent(**changes) -> dict:
    data = {
        "seen": "0", "emergency_number": "112", "eye_contact": "", "help_contact": "",
        "reassess_minutes": "30", "what_to_say": "Gate code 7.", "step-TOTAL_FORMS": "2",
        "step-INITIAL_FORMS": "0", "step-0-position": "2", "step-0-title": "Then",
        "step-0-text": "", "step-0-source": "Clinic policy", "step-1-position": "1",
        "step-1-title": "First", "step-1-text": "Stop.", "step-1-source": "Clinic policy",
    }  # fmt: skip
    return data | changes


def save(client, user, **changes):
    client.force_login(user)
    return client.post(reverse("protocol-edit"), sent(**changes))


def test_whoever_treats_reads_the_supplied_steps_with_their_sources(client, injector):
    client.force_login(injector)
    page = client.get(reverse("protocol")).content.decode()
    assert SUPPLIED_STEPS[0].title in page
    assert "Adapt to your local protocol" in page
    assert "J Clin Aesthet Dermatol 2021" in page
    assert reverse("protocol-edit") not in page


def test_the_owner_writes_the_next_version_in_the_order_of_the_places(client, owner):
    assert save(client, owner).status_code == 302
    current = current_protocol()
    assert [step.title for step in current.steps] == ["First", "Then"]
    assert (current.stored.emergency_number, current.stored.reassess_minutes) == ("112", 30)


def test_the_form_starts_from_what_holds_now(client, owner):
    make_protocol(owner, Step("Our step", "Do it.", "Clinic policy"), help_contact="Dr Lark")
    client.force_login(owner)
    page = client.get(reverse("protocol-edit")).content.decode()
    assert "Our step" in page
    assert "Dr Lark" in page
    assert 'name="seen" value="1"' in page


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"reassess_minutes": "14"}, "from 15 to 60"),
        ({"reassess_minutes": "x"}, "from 15 to 60"),
        ({"step-0-source": ""}, "Name the source, or write “clinic policy”."),
        ({"step-0-title": ""}, "Give the step a title, or empty the whole row."),
        ({"step-0-position": "0"}, "from 1 to 999"),
        ({"step-TOTAL_FORMS": "0"}, "Keep at least one step"),
        ({"seen": "4"}, "meanwhile"),
    ],
)
def test_what_cannot_be_comes_back_with_a_sentence_and_all_that_was_typed(
    client, owner, changes, message
):
    answer = save(client, owner, **changes)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert message in page
    assert "Gate code 7." in page
    assert not Protocol.objects.exists()


def test_an_old_version_says_that_it_is_no_longer_in_use(client, owner):
    make_protocol(owner, Step("Old step", "", "Clinic policy"))
    make_protocol(owner, Step("New step", "", "Clinic policy"))
    client.force_login(owner)
    old = client.get(reverse("protocol-version", args=[1])).content.decode()
    assert "Old step" in old
    assert "no longer in use" in old
    assert "no longer in use" not in client.get(reverse("protocol")).content.decode()
    assert client.get(reverse("protocol-version", args=[3])).status_code == 404
