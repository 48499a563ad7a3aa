from planning.event_cautions import EMERGENCIES, EVENT_CAUTIONS, Urgency


def test_what_cannot_wait_is_named_as_such_and_nothing_else_is() -> None:
    assert {caution.urgency for caution in EMERGENCIES} == {Urgency.STOP}
    assert Urgency.STOP not in {caution.urgency for caution in EVENT_CAUTIONS}


def test_an_emergency_is_left_to_the_clinic_s_own_protocol() -> None:
    for caution in EMERGENCIES:
        assert "the clinic's emergency protocol" in caution.text


def test_no_caution_names_a_dose() -> None:
    for caution in (*EMERGENCIES, *EVENT_CAUTIONS):
        assert not any(letter.isdigit() for letter in caution.text)
