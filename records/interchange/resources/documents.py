"""
Papers and pictures: DocumentReference.

A PDF that the clinic keeps is inside, byte for byte, with its SHA-256 as the audit trail has it
(FHIR's own `hash` is a SHA-1). Photographs are told by what they show and by the SHA-256 of their
file; the files themselves are handed out apart.
"""

import hashlib
from base64 import b64encode
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from records.aftercare.models import AftercareSheet
from records.aftercare.queries import Content
from records.comparisons.models import ComparisonSheet
from records.interchange.parts import (
    Json,
    extension,
    joined,
    moment,
    named,
    uuid_identifier,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.photographs.models import Photograph
from records.sessions.models import SessionPicture, TreatmentSession

_JPEG, _PDF = "image/jpeg", "application/pdf"


def documents(record: PatientRecord, refs: References) -> Iterator[Json]:
    for session in record.sessions:
        yield from _notes(session, refs)
        yield from _handovers(session, refs)
        yield from (_aftercare(sheet, refs) for sheet in session.aftercare_sheets.all())
        yield from (_session_picture(picture, refs) for picture in session.pictures.all())
    yield from _consent_papers(record, refs)
    yield from _summaries(record, refs)
    yield from (_photograph(photograph, refs) for photograph in record.photographs)
    yield from (_comparison(sheet, refs) for sheet in record.comparisons)


def _document(
    source: str, key: object, kind: str, title: str, refs: References, **fields: Any
) -> Json:
    """
    Args:
        source: what it is made of, a key of ids; kind: a code of the record's own.
    """
    return {
        "resourceType": "DocumentReference",
        "id": refs.id_of(f"DocumentReference/{source}", key),
        "status": "current",
        "type": named("document", kind, title),
        "subject": refs.patient,
        "custodian": refs.clinic,
        **fields,
    }


def _inline(data: bytes, kind: str, title: str, made_at: datetime) -> list[Json]:
    sha1 = hashlib.sha1(data, usedforsecurity=False).digest()
    attachment = {
        "extension": [extension("sha-256", "String", hashlib.sha256(data).hexdigest())],
        "contentType": kind,
        "data": b64encode(data).decode(),
        "size": len(data),
        "hash": b64encode(sha1).decode(),
        "title": title,
        "creation": moment(made_at),
    }
    return [{"attachment": attachment}]


def _replaced(source: str, papers: list[Any], refs: References) -> Iterator[tuple[Any, Json]]:
    """Papers from the oldest on, with status and what each took the place of."""
    replaces: list[Json] = []
    for paper in papers:
        status = "current" if paper is papers[-1] else "superseded"
        yield paper, {"status": status, "relatesTo": replaces}
        target = refs.to(f"DocumentReference/{source}", paper.pk)
        replaces = [{"code": "replaces", "target": target}]


def _notes(session: TreatmentSession, refs: References) -> Iterator[Json]:
    """The signed chart note, in each edition in which it was given out."""
    notes = sorted(session.notes.all(), key=lambda note: note.pk)
    for note, fields in _replaced("note", notes, refs):
        title = f"Chart note, {note.addenda} addenda" if note.addenda else "Chart note"
        yield _document(
            "note", note.pk, "chart-note", "Chart note", refs,
            docStatus="final" if note is notes[0] else "amended",
            date=moment(note.made_at),
            author=[refs.person(session.signed_by_id)],
            content=_inline(bytes(note.pdf), _PDF, title, note.made_at),
            context={"encounter": [refs.session(session.pk)]},
            **fields,
        )  # fmt: skip


def _handovers(session: TreatmentSession, refs: References) -> Iterator[Json]:
    for log in session.occlusions.all():
        sheets = sorted(log.sheets.all(), key=lambda sheet: sheet.entries)
        for sheet, fields in _replaced("handover", sheets, refs):
            yield _document(
                "handover", sheet.pk, "handover", "Handover sheet of an occlusion log", refs,
                date=moment(sheet.made_at),
                content=_inline(bytes(sheet.pdf), _PDF, "Handover sheet", sheet.made_at),
                context={"encounter": [refs.session(session.pk)]},
                **fields,
            )  # fmt: skip


def _aftercare(sheet: AftercareSheet, refs: References) -> Json:
    """As it was printed; one that was sent or shown as the words it had."""
    if sheet.pdf:
        content = _inline(bytes(sheet.pdf), _PDF, "Aftercare sheet", sheet.given_at)
    else:
        words = "\n".join(_aftercare_lines(Content.of_json(sheet.content)))
        content = _inline(words.encode(), "text/plain", "Aftercare sheet", sheet.given_at)
    return _document(
        "aftercare", sheet.pk, "aftercare", "Aftercare sheet", refs,
        date=moment(sheet.given_at),
        author=[refs.person(sheet.given_by_id)],
        description=sheet.get_way_display(),
        content=content,
        context={"encounter": [refs.session(sheet.session_id)]},
    )  # fmt: skip


def _aftercare_lines(content: Content) -> Iterator[str]:
    for section in content.sections:
        yield section.title
        yield from (f"- {line}" for line in section.advice)
        yield "Call us at once with:"
        yield from (f"- {line}" for line in section.signs)
    for row in content.given:
        yield f"Given: {row.product}, lot {row.lot}, {joined(row.regions, ', ')}"
    yield from (line for line in (content.contact, content.phone) if line)


def _session_picture(picture: SessionPicture, refs: References) -> Json:
    return _picture(
        picture, "session-picture", "Photograph with the points of a session", refs,
        author=[refs.person(picture.added_by_id)],
        context={"encounter": [refs.session(picture.session_id)]},
    )  # fmt: skip


def _photograph(photograph: Photograph, refs: References) -> Json:
    session = refs.session(photograph.session_id)
    removed = photograph.removed_reason
    return _picture(
        photograph, "photograph", photograph.shot.label, refs,
        author=[refs.person(photograph.added_by_id)],
        description=f"Taken out of the record: {removed}" if removed else "",
        context={"encounter": [session] if session else []},
    )  # fmt: skip


def _picture(
    picture: Photograph | SessionPicture, source: str, title: str, refs: References, **fields: Any
) -> Json:
    """Neither data nor address: the file lies in the clinic's own folder, by its digest."""
    attachment = {
        "extension": [
            extension("sha-256", "String", picture.digest),
            extension("width", "PositiveInt", picture.width),
            extension("height", "PositiveInt", picture.height),
        ],
        "contentType": _JPEG,
        "title": title,
        "creation": moment(picture.taken_at),
    }
    return _document(
        source, picture.key, "photograph", "Photograph", refs,
        **{
            "identifier": [uuid_identifier(picture.key)],
            "status": "current" if picture.removed_at is None else "entered-in-error",
            "date": moment(picture.added_at),
            "content": [{"attachment": attachment}],
        } | fields,
    )  # fmt: skip


def _comparison(sheet: ComparisonSheet, refs: References) -> Json:
    keys = [photograph.key for photograph in sheet.photographs]
    return _document(
        "comparison", sheet.pk, "comparison", "Photographs compared", refs,
        date=moment(sheet.made_at),
        author=[refs.person(sheet.made_by_id)],
        description=str(sheet),
        content=_inline(bytes(sheet.pdf), _PDF, "Photographs compared", sheet.made_at),
        context={"related": [refs.to("DocumentReference/photograph", key) for key in keys]},
    )  # fmt: skip


def _consent_papers(record: PatientRecord, refs: References) -> Iterator[Json]:
    for consent in record.consents:
        papers = sorted(consent.papers.all(), key=lambda paper: paper.shows_withdrawal)
        for paper, fields in _replaced("consent", papers, refs):
            yield _document(
                "consent", paper.pk, "consent", "Signed consent", refs,
                date=moment(paper.made_at),
                author=[refs.person(consent.taken_by_id)],
                description=str(consent.text),
                content=_inline(bytes(paper.pdf), _PDF, "Signed consent", paper.made_at),
                **fields,
            )  # fmt: skip


def _summaries(record: PatientRecord, refs: References) -> Iterator[Json]:
    for plan in record.plans:
        for summary in plan.summaries.all():
            yield _document(
                "summary", summary.pk, "plan-summary", "Quote and summary of a plan", refs,
                date=moment(summary.issued_at),
                author=[refs.person(summary.issued_by_id)],
                description=f"{plan.title}, {summary.number}",
                content=_inline(bytes(summary.pdf), _PDF, "Quote and summary", summary.issued_at),
                context={"related": [refs.to("CarePlan/plan", plan.pk)]},
            )  # fmt: skip
