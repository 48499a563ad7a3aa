"""The demo's medical histories: most patients gave one, some with a stop, a few unread."""

from datetime import timedelta
from functools import partial

from planning.screening import Given, Said
from records.demo.clinic import at
from records.demo.desk import TODAYS_PATIENTS
from records.demo.story import Story
from records.patients.models import Patient
from records.screening.enums import QuestionKind, Way
from records.screening.services.histories import (
    begin_history,
    check_history,
    send_history,
)

_YES = Said.YES
# What one patient after another says beside "no".
SAID: tuple[dict[str, Given], ...] = (
    {"cold-sores": Given(_YES, "Last in spring"), "medicines": Given(Said.WRITTEN, "Lisinopril")},
    {},
    {"blood-thinner": Given(_YES, "Aspirin 75 mg"), "other-filler": Given(Said.UNSURE)},
    {"occlusion": Given(_YES, "Lip turned white in 2021, dissolved the same day")},
    {"dental": Given(_YES, "Crown fitted two weeks ago")},
    {},
    {},
    {"keloid": Given(Said.UNSURE), "stings": Given(_YES, "Swollen arm as a child")},
)  # fmt: skip
LATEST = 40
# By their place in today's list; `NOT_ASKED` gave none, and nobody read those of `UNREAD` yet.
SAID_LATELY: dict[int, dict[str, Given]] = {
    1: {"blood-thinner": Given(_YES, "Apixaban 5 mg")},
    8: {"nerve-muscle": Given(_YES, "Myasthenia gravis, in treatment since spring")},
}
NOT_ASKED, UNREAD = 5, 7


def plan_histories(story: Story) -> None:
    """
    Asked some weeks ago, from the first patient on, every third still has to be asked; and within
    the last weeks of who comes today.
    """
    for number in range(LATEST):
        if number % 3 != 2:
            day = story.today - timedelta(days=300 - 7 * number)
            said, is_read = SAID[number % len(SAID)], bool(number % 7)
            act = partial(_ask, story, number, said, is_read=is_read)
            story.diary.note(at(day, 8, 30), act)
    for number in range(TODAYS_PATIENTS):
        if number != NOT_ASKED:
            day = story.today - timedelta(days=3 + number)
            said = SAID_LATELY.get(number, {})
            act = partial(_ask, story, number - TODAYS_PATIENTS, said, is_read=number != UNREAD)
            story.diary.note(at(day, 8, 40), act)


def _ask(story: Story, number: int, said: dict[str, Given], *, is_read: bool) -> None:
    patient: Patient = story.patients[number]
    injector = story.clinic.staff["injector"]
    form = begin_history(patient=patient, way=Way.TABLET, actor=injector)
    answers = {
        question.code: said.get(question.code) or _denied(QuestionKind(question.kind))
        for question in form.questionnaire.questions.all()
    }
    form = send_history(form=form, answers=answers, actor=injector)
    if is_read:
        check_history(form=form, actor=injector)


def _denied(kind: QuestionKind) -> Given:
    return Given(Said.NO if kind.is_chosen else Said.NOTHING)
