"""What a tablet knows of the time before the first point: gates, consents, time-outs, kit."""

from collections.abc import Iterable
from datetime import date, datetime

from clinic.emergency_kit.queries import kit_lines
from clinic.policy.models import ClinicPolicy
from records.consents.queries import standings_of_patients
from records.gates.models import GateDecision
from records.patients.models import Patient
from records.photographs.queries import taken_on_day_of
from records.sessions.queries.gates import gates_of_patients
from records.time_out.queries import TimeOut


def gates_json(
    patients: Iterable[Patient], policy: ClinicPolicy, now: datetime
) -> dict[int, list[dict]]:
    """By patient, what is to be settled if a session is started now."""
    return {
        patient: [
            {
                "key": gate.key,
                "level": gate.level,
                "label": gate.level.label,
                "title": gate.title,
                "text": gate.text,
                "source": gate.source,
                "url": gate.url,
                "can_be_decided": gate.can_be_decided,
            }
            for gate in found
        ]
        for patient, found in gates_of_patients(patients, now, policy).items()
    }


def on_record_json(
    patients: Iterable[Patient], policy: ClinicPolicy, now: datetime
) -> dict[int, dict]:
    """By patient, what a time-out reads out: the consents that hold, and the views of the day."""
    keys = [patient.pk for patient in patients]
    taken = taken_on_day_of(keys, now)
    return {
        patient: {
            "consents": [
                f"{each.kind.label}, {each.when_text}"
                for each in found.values()
                if each.is_valid and each.kind.products
            ],
            "photographs": len(taken[patient]),
        }
        for patient, found in standings_of_patients(keys, now, policy.cooling_off_days).items()
    }


def kit_json(policy: ClinicPolicy, today: date) -> list[dict]:
    """The emergency kit, item by item; `site` is "" in a clinic that has none."""
    return [
        {
            "site": str(line.site or ""),
            "state": line.state,
            "label": line.state.label,
            "words": line.words,
        }
        for line in kit_lines(policy, today)
    ]


def decisions_json(decisions: Iterable[GateDecision]) -> list[dict]:
    """All of a session, in their order; the latest of a gate is the one that holds."""
    names = ("key", "gate", "title", "text", "source", "can_be_decided", "how", "reason")
    return [{name: getattr(row, name) for name in names} for row in decisions]


def time_outs_json(time_outs: Iterable[TimeOut]) -> list[dict]:
    return [{"key": row.key, "at": row.at, "by": row.by} for row in time_outs]
