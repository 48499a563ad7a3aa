"""The endpoints behind a touch on the face."""

import uuid

import pytest
from django.urls import reverse

from records.sessions.models import InjectionEntry
from records.sessions.services.signing import sign_session
from tests.factories import make_point, make_user, refreshed


def log_url(session) -> str:
    return reverse("point-log", args=[session.pk])


def act_url(act: str, point) -> str:
    return reverse(f"point-{act}", args=[point.session_id, point.key])


def test_touch_logs_a_point_and_answers_with_the_parts(signed_in, injector, session, tapped):
    form = tapped()
    answer = signed_in(injector).post(log_url(session), form)
    assert answer.status_code == 200
    point = InjectionEntry.objects.get()
    assert (str(point.key), point.amount, point.logged_by) == (form["key"], 200, injector)
    text = answer.content.decode()
    assert "Point 1: Zygomatic region, left, 0.2 mL. Stored." in text
    assert f'data-point="{point.key}"' in text
    assert f'data-row="{point.key}"' in text
    assert '<strong class="num">0.8\u00a0mL</strong> left' in text


def test_touch_sent_twice_is_stored_once(signed_in, injector, session, tapped):
    form = tapped()
    client = signed_in(injector)
    assert [client.post(log_url(session), form).status_code for _ in range(2)] == [200, 200]
    assert InjectionEntry.objects.count() == 1


def test_same_key_with_other_content_answers_409(signed_in, injector, session, tapped):
    form = tapped()
    client = signed_in(injector)
    client.post(log_url(session), form)
    answer = client.post(log_url(session), form | {"amount": "0.3"})
    assert answer.status_code == 409
    assert answer.json() == {
        "message": "Point 1 was stored before with other content. Edit it instead."
    }


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"amount": ""}, "Type the amount."),
        ({"amount": "lots"}, "“lots” is not an amount"),
        ({"amount": "4 units"}, "This product is counted in mL"),
        ({"amount": "-1"}, "is not an amount"),
        ({"amount": "2"}, "1 mL remain in unit"),
        ({"plane": ""}, "Choose the plane."),
        ({"plane": "sideways"}, "Select a valid choice"),
        ({"unit": ""}, "Open a unit first"),
        ({"unit": "999999"}, "not on the tray"),
        ({"unit": "none"}, "not on the tray"),
        ({"key": "1"}, "valid UUID"),
        ({"key": ""}, "key"),
        ({"x_dmm": "2900"}, "not on the face"),
        ({"x_dmm": "1e9"}, "whole number"),
        ({"y_dmm": "99999"}, "less than or equal"),
        ({"tapped_at": "noon"}, "valid date/time"),
        ({"region": "moon"}, "Select a valid choice"),
        ({"gauge": "99"}, "less than or equal"),
    ],
)
def test_bad_input_is_answered_with_a_sentence(
    signed_in, injector, session, tapped, fields, sentence
):
    answer = signed_in(injector).post(log_url(session), tapped(**fields))
    assert answer.status_code == 422
    assert sentence in answer.json()["message"]
    assert not InjectionEntry.objects.exists()


def test_change_edits_and_answers_with_the_new_totals(signed_in, injector, session, units, tapped):
    point = make_point(session, units[0])
    form = tapped(amount="0.35", region="infraorbital", side="left")
    answer = signed_in(injector).post(act_url("change", point), form)
    assert answer.status_code == 200
    assert (refreshed(point).amount, point.region) == (350, "infraorbital")
    assert "0.65\u00a0mL" in answer.content.decode()


def test_move_answers_where_the_point_is_now(signed_in, injector, session, units):
    point = make_point(session, units[0])
    answer = signed_in(injector).post(act_url("move", point), {"x_dmm": "0", "y_dmm": "1000"})
    assert answer.status_code == 200
    assert "Mental region, midline, 0.2 mL. Moved." in answer.content.decode()


def test_move_off_the_face_changes_nothing(signed_in, injector, session, units):
    point = make_point(session, units[0])
    answer = signed_in(injector).post(act_url("move", point), {"x_dmm": "2500", "y_dmm": "0"})
    assert (answer.status_code, refreshed(point).x_dmm) == (422, 500)


def test_remove_takes_mark_and_row_away(signed_in, injector, session, units):
    point = make_point(session, units[0])
    answer = signed_in(injector).post(act_url("remove", point))
    assert str(point.key) not in answer.content.decode()
    assert refreshed(point).removed_at is not None


@pytest.mark.parametrize("act", ["change", "move", "remove"])
def test_unknown_point_is_404(signed_in, injector, session, act):
    url = reverse(f"point-{act}", args=[session.pk, uuid.uuid4()])
    assert signed_in(injector).post(url).status_code == 404


def test_unknown_session_is_404(signed_in, injector, tapped):
    assert signed_in(injector).post(reverse("point-log", args=[9999]), tapped()).status_code == 404


def test_colleague_may_look_but_not_log(signed_in, session, tapped):
    colleague = make_user("second", is_injector=True)
    assert signed_in(colleague).post(log_url(session), tapped()).status_code == 403
    assert not InjectionEntry.objects.exists()


def test_wrong_method_is_405(signed_in, injector, session):
    assert signed_in(injector).get(log_url(session)).status_code == 405


def test_signed_session_answers_that_it_is_signed(signed_in, injector, session, units, tapped):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    answer = signed_in(injector).post(log_url(session), tapped())
    assert answer.status_code == 422
    assert "This session is signed" in answer.json()["message"]


def test_answer_takes_the_same_queries_for_any_number_of_points(
    signed_in, injector, session, units, tapped, count_queries
):
    client = signed_in(injector)
    first = count_queries(lambda: client.post(log_url(session), tapped(amount="0.01")))
    for _ in range(3):
        make_point(session, units[0], amount=10)
    assert count_queries(lambda: client.post(log_url(session), tapped(amount="0.01"))) == first
