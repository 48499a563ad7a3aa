"""What a patient answered stays as it was sent, and what was asked as it was asked."""

from clinic.database.triggers import append_only, guard, never_emptied, refuse

_QUESTIONNAIRE, _QUESTION = "records_questionnaire", "records_question"
_FORM, _ANSWER, _LINK = "records_historyform", "records_historyanswer", "records_historylink"
_KEPT = "a medical history stays on record"
_ASKED = "a questionnaire stays as it was asked"

_SENT = "OLD.answered_at IS NOT NULL OR OLD.withdrawn_at IS NOT NULL"
_MOVED = " OR ".join(
    f"OLD.{column} <> NEW.{column}"
    for column in ("patient_id", "questionnaire_id", "way", "begun_at", "begun_by_id")
)

TRIGGERS = (
    *append_only(_ANSWER),
    *append_only("records_historycheck"),
    *append_only("records_raisedalert"),
    *append_only(_QUESTION),
    refuse(
        f"{_QUESTIONNAIRE}_stays", _QUESTIONNAIRE, "BEFORE UPDATE", _ASKED,
        condition="OLD.version <> NEW.version OR OLD.intro <> NEW.intro"
        " OR (NOT OLD.is_in_use AND NEW.is_in_use)",
    ),
    refuse(f"{_QUESTIONNAIRE}_kept", _QUESTIONNAIRE, "BEFORE DELETE", _ASKED),
    *never_emptied(_QUESTIONNAIRE, _ASKED),
    guard(
        f"{_ANSWER}_before_sending", _ANSWER, "BEFORE INSERT",
        f"SELECT 1 FROM {_FORM} WHERE id = NEW.form_id"
        " AND (answered_at IS NOT NULL OR withdrawn_at IS NOT NULL)",
        "the form was sent or withdrawn",
    ),
    guard(
        f"{_ANSWER}_to_its_questions", _ANSWER, "BEFORE INSERT",
        f"SELECT 1 FROM {_FORM} f JOIN {_QUESTION} q ON q.id = NEW.question_id"
        " WHERE f.id = NEW.form_id AND q.questionnaire_id <> f.questionnaire_id",
        "the question is not of this form",
    ),
    refuse(f"{_FORM}_sent_stays", _FORM, "BEFORE UPDATE", _KEPT, condition=_SENT),
    refuse(f"{_FORM}_as_begun", _FORM, "BEFORE UPDATE", _KEPT, condition=_MOVED),
    refuse(f"{_FORM}_kept", _FORM, "BEFORE DELETE", _KEPT),
    *never_emptied(_FORM, _KEPT),
    refuse(
        f"{_LINK}_used_once", _LINK, "BEFORE UPDATE", "a link is used once",
        condition="OLD.used_at IS NOT NULL",
    ),
)  # fmt: skip
