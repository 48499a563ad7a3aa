"""The owner's words, one version on the other."""

import pytest
from django.urls import reverse

from planning.aftercare import SUPPLIED, AftercareKind
from records.aftercare.models import AftercareText
from records.aftercare.services.texts import save_text

EDIT = reverse("aftercare-text-edit", args=["toxin"])


@pytest.fixture
def client(owner, signed_in):
    return signed_in(owner)


def typed(**fields) -> dict:
    return {"advice": "Stay upright.\n\n  No sauna. ", "signs": "fever", "written_on": 0, **fields}


def test_the_supplied_words_are_there_to_begin_with(client):
    shown = client.get(reverse("aftercare-text-list")).content.decode()
    for advice in SUPPLIED.values():
        assert advice.lines[0] in shown
    assert shown.count("as supplied") == len(AftercareKind)


def test_saving_makes_a_version_and_keeps_the_one_before(client, owner):
    client.post(EDIT, typed())
    client.post(EDIT, typed(signs="pus", written_on=1))
    versions = AftercareText.objects.filter(kind="toxin").order_by("version")
    assert [(text.version, text.signs) for text in versions] == [(1, "fever"), (2, "pus")]
    assert versions[0].advice == "Stay upright.\nNo sauna."
    shown = client.get(EDIT).content.decode()
    assert "Version 1, " in shown
    assert "version 2" in shown


def test_two_editors_do_not_write_over_each_other_unasked(client, owner):
    kind = AftercareKind.TOXIN
    save_text(kind=kind, advice="Of a colleague", signs="fever", written_on=0, actor=owner)
    answer = client.post(EDIT, typed())
    shown = answer.content.decode()
    assert answer.status_code == 422
    for words in ("Somebody saved another version", "Of a colleague", ">\nStay upright.\n"):
        assert words in shown
    assert 'name="written_on" value="1"' in shown
    client.post(EDIT, typed(written_on=1))
    assert AftercareText.objects.filter(kind=kind).count() == 2


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [({"advice": " \n "}, "advice", "What to do is required."),
     ({"signs": ""}, "signs", "Call us at once with is required."),
     ({"advice": "x" * 4001}, "advice", "at most 4000")],
)  # fmt: skip
def test_bad_input_says_what_to_do(client, fields, field, says):
    answer = client.post(EDIT, typed(**fields))
    assert answer.status_code == 422
    assert says in answer.context["form"].errors[field][0]


def test_a_kind_that_is_none_is_not_there(client):
    assert client.get(reverse("aftercare-text-edit", args=["moon"])).status_code == 404
