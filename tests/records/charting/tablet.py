"""A tablet as the server sees it: ids, sequence, clock, and what it sends."""

import hashlib
import hmac
import json
import uuid
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

# What the quick code of the tests gives on a tablet.
CODE_KEY = hashlib.sha256(b"a code of the test").hexdigest()


def stamp(moment: datetime) -> str:
    """As JavaScript's Date.toISOString() writes it."""
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Tablet:
    """`slow_by`: how far its clock is behind the clinic's."""

    def __init__(self, user, client: Client | None = None, slow_by=timedelta()) -> None:
        self.user, self.device, self.slow_by = user, uuid.uuid4(), slow_by
        self.client = client or Client()
        self.client.force_login(user)
        self.numbers = count(1)

    def now(self) -> datetime:
        return timezone.now() - self.slow_by

    def op(self, kind: str, session, data: dict[str, Any], **fields) -> dict[str, Any]:
        """One operation; `session` is a session or a key."""
        return {
            "id": str(uuid.uuid4()),
            "session": str(getattr(session, "key", session)),
            "kind": kind,
            "base": None,
            "made_at": stamp(self.now()),
            "sequence": next(self.numbers),
            "author": self.user.pk,
            "handed_over": False,
            "data": data,
            **fields,
        }

    def post(self, body: Any, **fields):
        text = body if isinstance(body, (str, bytes)) else json.dumps(body)
        return self.client.post(
            reverse("charting-sync"), text, content_type="application/json", **fields
        )

    def send(self, *operations: dict, wanted=(), sent_at: datetime | None = None) -> dict:
        """The answer to a request with these operations."""
        answer = self.post(
            {
                "device": str(self.device),
                "sent_at": stamp(sent_at or self.now()),
                "operations": list(operations),
                "sessions": [str(getattr(session, "key", session)) for session in wanted],
            }
        )
        assert answer.status_code == 200, answer.content
        return answer.json()

    def outcomes(self, *operations: dict) -> list[str]:
        return [row["outcome"] for row in self.send(*operations)["results"]]

    def only(self, operation: dict) -> dict:
        """The result of one operation."""
        (result,) = self.send(operation)["results"]
        return result


def point_data(unit, **fields) -> dict[str, Any]:
    """A bolus on the patient's left cheekbone."""
    return {
        "key": str(uuid.uuid4()), "unit": unit.pk, "view": "front", "x_dmm": 500, "y_dmm": 330,
        "reach_x_dmm": None, "reach_y_dmm": None, "picture": None, "region": "", "side": "",
        "plane": "supraperiosteal", "technique": "bolus", "instrument": "needle", "gauge": 27,
        "length_mm": 13, "aspiration": "negative", "amount": 200, "deviation": "",
        "marking": None, **fields,
    }  # fmt: skip


def open_data(unit, **fields) -> dict[str, Any]:
    return {"unit": unit.pk, "diluent_ul": None, "no_diluent": False, "deviation": "", **fields}


def start_op(tablet, patient, key=None, **fields) -> dict:
    data = {"patient": patient.pk, "appointment": None, "jaw": "average"}
    made_at = fields.pop("made_at", None)
    op = tablet.op("start", key or uuid.uuid4(), data | fields)
    return op | ({"made_at": stamp(made_at)} if made_at else {})


def sign_op(tablet, session, remainders, *, key=CODE_KEY, **fields) -> dict:
    """Signed as the contract of the wire says: HMAC-SHA256 (RFC 2104), worked out here anew."""
    op = tablet.op("sign", session, {"remainders": remainders}, **fields)
    told = f"sign|{op['id']}|{op['session']}".encode()
    op["data"]["proof"] = hmac.new(bytes.fromhex(key), told, hashlib.sha256).hexdigest()
    return op
