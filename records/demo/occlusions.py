"""The one time a vessel seemed blocked in the demo's past: the clinic's protocol, and a log."""

import uuid
from datetime import timedelta
from functools import partial
from typing import Any

from django.utils import timezone

from clinic.protocols.models import Protocol
from clinic.protocols.services import save_protocol
from clinic.stock.models import UnitOfStock
from planning.occlusion_protocol import SUPPLIED_STEPS
from planning.vocabulary import ProductKind
from records.demo.clinic import DemoClinic, fixture
from records.demo.story import Story
from records.occlusions.models import Occlusion
from records.occlusions.services import Clocks, note_entry, open_log
from records.sessions.models import TreatmentSession


def write_protocol(clinic: DemoClinic) -> None:
    """The supplied steps, with the numbers that the demo's clinic would call."""
    protocol = Protocol(**fixture("occlusion")["protocol"])
    owner = clinic.staff["owner"]
    save_protocol(protocol=protocol, steps=SUPPLIED_STEPS, seen=0, actor=owner)


def note_occlusion(story: Story, session: TreatmentSession) -> None:
    """Note the log, if the session is the first with the lot of `fixtures/demo/occlusion.json`."""
    told = fixture("occlusion")
    points = session.points.filter(unit__lot__number=told["lot"])
    if story.has_occlusion or not points.exists():
        return
    story.has_occlusion = True
    began = session.started_at + timedelta(minutes=told["minutes_after_start"])
    story.diary.note(began, partial(_open, story, session))


def _open(story: Story, session: TreatmentSession) -> None:
    log = open_log(
        session=session, key=_key(session, "log"), clocks=_clocks(session), protocol=1,
        actor=session.injector,
    )  # fmt: skip
    vial = UnitOfStock.objects.in_stock().filter(lot__product__kind=ProductKind.HYALURONIDASE)
    unit = vial.first_expired_first().first()
    for number, row in enumerate(fixture("occlusion")["lines"]):
        moment = log.at + timedelta(minutes=row["minute"])
        said = {name: value for name, value in row.items() if name != "minute"}
        if row["what"] == "dose" and unit:
            said["unit"] = unit.pk
        story.diary.note(moment, partial(_write, log, _key(session, str(number)), said))


def _write(log: Occlusion, key: uuid.UUID, said: dict[str, Any]) -> None:
    note_entry(
        occlusion=log, key=key, said=said, clocks=_clocks(log.session),
        actor=log.session.injector,
    )  # fmt: skip


def _clocks(session: TreatmentSession) -> Clocks:
    now = timezone.now()
    return Clocks(at=now, tablet_at=now, by=session.injector)


def _key(session: TreatmentSession, line: str) -> uuid.UUID:
    """The same whenever the demo is made, and no throw of the story's."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"occlusion {session.pk} {line}")
