"""
What the database itself holds about plans.

- What was planned for a session stays once that session is signed.
- A stage stays with the session that took it up, once that is signed, and no signed session takes
  one up.
- Summaries given to patients only grow.
"""

from clinic.database.triggers import append_only, guard

_STAGE, _LINE = "records_planstage", "records_planline"
_TREATED = "what was planned for a signed session stays"


def _signed_of_stage(stage: str) -> str:
    return (
        f"SELECT 1 FROM {_STAGE} p JOIN records_treatmentsession s ON s.id = p.session_id "
        f"WHERE p.id = {stage} AND s.signed_at IS NOT NULL"
    )


_SIGNED = (
    "SELECT 1 FROM records_treatmentsession s "
    "WHERE s.id = OLD.session_id AND s.signed_at IS NOT NULL"
)

TRIGGERS = (
    guard(
        f"{_LINE}_treated_insert", _LINE, "BEFORE INSERT", _signed_of_stage("NEW.stage_id"),
        _TREATED,
    ),
    guard(
        f"{_LINE}_treated_update", _LINE, "BEFORE UPDATE",
        f"{_signed_of_stage('OLD.stage_id')} UNION ALL {_signed_of_stage('NEW.stage_id')}",
        _TREATED,
    ),
    guard(
        f"{_LINE}_treated_delete", _LINE, "BEFORE DELETE", _signed_of_stage("OLD.stage_id"),
        _TREATED,
    ),
    guard(
        f"{_STAGE}_treated_update", _STAGE, "BEFORE UPDATE",
        "SELECT 1 FROM records_treatmentsession s "
        "WHERE s.id IN (OLD.session_id, NEW.session_id) AND s.signed_at IS NOT NULL",
        _TREATED,
    ),
    guard(f"{_STAGE}_treated_delete", _STAGE, "BEFORE DELETE", _SIGNED, _TREATED),
    *append_only("records_plansummary"),
)  # fmt: skip
