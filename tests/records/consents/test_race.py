"""Several people at one moment: a text that comes with the program becomes one row."""

import threading

import pytest
from django.db import connection

from planning.consents import ConsentKind
from records.consents.errors import TextChanged
from records.consents.models import Consent, ConsentRisk, ConsentText
from records.consents.services import save_text
from records.consents.supplied import SUPPLIED, Risk, Wording
from tests.factories import make_consent, make_patient

OWN = Wording("Our text", "Our words.", 30, (Risk("It may bruise.", ""),))
PEOPLE = 4


def at_once(acts) -> list[str]:
    """Run the acts in threads of their own, let go together; what became of each."""
    gate, outcomes = threading.Barrier(len(acts)), []

    def run(act) -> None:
        try:
            gate.wait(timeout=30)
            act()
            outcomes.append("kept")
        except TextChanged:
            outcomes.append("refused")
        except Exception as error:  # anything else must show in the assertion, not be lost
            outcomes.append(repr(error))
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return sorted(outcomes)


@pytest.mark.django_db(transaction=True)
def test_the_first_consents_of_a_kind_are_to_one_text(injector):
    patients = [make_patient(injector, f"Ann Example {number}") for number in range(PEOPLE)]
    acts = [lambda patient=patient: make_consent(injector, patient) for patient in patients]
    assert at_once(acts) == ["kept"] * PEOPLE
    assert (Consent.objects.count(), ConsentText.objects.count()) == (PEOPLE, 1)
    assert ConsentRisk.objects.count() == len(SUPPLIED[ConsentKind.FILLER].risks)


@pytest.mark.django_db(transaction=True)
def test_one_of_several_new_versions_comes_next(owner):
    def write(seen: int = 2) -> None:
        save_text(kind=ConsentKind.TOXIN, seen=seen, wording=OWN, actor=owner)

    write(seen=1)
    assert at_once([write] * PEOPLE) == ["kept"] + ["refused"] * (PEOPLE - 1)
    assert sorted(ConsentText.objects.values_list("version", flat=True)) == [1, 2, 3]
