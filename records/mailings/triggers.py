"""
What the database itself holds about mailings.

- Files of letters only grow. A letter that was written, or an e-mail that was sent, stays so: no
  path leads back to waiting, so it is not written or sent again.
- A mailing keeps the text it was started with, and whom it is for.
- Nothing of a rehearsal is sent.
"""

from clinic.database.triggers import append_only, guard, refuse

_MAILING, _ITEM = "records_mailing", "records_mailingitem"
_KEPT = ("channel", "purpose", "subject", "body", "is_rehearsal", "started_at")
_SENT_IN_REHEARSAL = (
    f"SELECT 1 FROM {_MAILING} m WHERE m.id = NEW.mailing_id AND m.is_rehearsal "
    "AND NEW.state IN ('sending', 'sent')"
)

TRIGGERS = (
    refuse(
        f"{_MAILING}_as_started", _MAILING, "BEFORE UPDATE",
        "a mailing keeps the text it was started with",
        condition=" OR ".join(f"OLD.{name} <> NEW.{name}" for name in _KEPT),
    ),
    refuse(f"{_MAILING}_stays", _MAILING, "BEFORE DELETE", "a mailing stays in the books"),
    refuse(
        f"{_ITEM}_done_once", _ITEM, "BEFORE UPDATE",
        "what was written or sent is not written or sent again",
        condition="OLD.state IN ('written', 'sent') AND OLD.state <> NEW.state",
    ),
    refuse(
        f"{_ITEM}_of_its_patient", _ITEM, "BEFORE UPDATE", "an item stays its patient's",
        condition="OLD.patient_id <> NEW.patient_id OR OLD.mailing_id <> NEW.mailing_id "
        "OR OLD.position <> NEW.position",
    ),
    refuse(f"{_ITEM}_stays", _ITEM, "BEFORE DELETE", "an item of a mailing stays in the books"),
    guard(
        f"{_ITEM}_rehearsed", _ITEM, "BEFORE UPDATE", _SENT_IN_REHEARSAL,
        "nothing of a rehearsal is sent",
    ),
    guard(
        f"{_ITEM}_rehearsed_from_the_start", _ITEM, "BEFORE INSERT", _SENT_IN_REHEARSAL,
        "nothing of a rehearsal is sent",
    ),
    *append_only("records_letterbatch"),
)  # fmt: skip
