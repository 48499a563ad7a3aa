"""The papers of consents: the text to take home, and the signed consent, kept as it was given."""

import hashlib
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, record_read
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.consents.models import Consent, ConsentPaper
from records.consents.queries import TextShown, text_in_force


def blank_paper(text: TextShown) -> bytes:
    """The text as PDF to read at home; nobody signs it. An earlier version says that it is one."""
    is_earlier = text.version < text_in_force(text.kind).version
    return _printed("print/consent_text.html", {"text": text, "is_earlier": is_earlier})


def give_out_paper(*, consent: Consent, actor) -> bytes:
    """The signed consent as PDF, and a row in the audit trail that `actor` had it."""
    paper = keep_paper(consent=consent, actor=actor)
    record_read(actor, paper, patient_id=consent.patient_id, action="consent.printed")
    return bytes(paper.pdf)


def keep_paper(*, consent: Consent, actor) -> ConsentPaper:
    """The paper of the consent as it stands, made once; its digest goes into the audit trail."""
    kept = consent.papers.filter(shows_withdrawal=consent.is_withdrawn)
    if paper := kept.first():
        return paper
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = _printed("print/consent.html", {"consent": consent})
    try:
        with acting(actor) as trail:
            paper = ConsentPaper.objects.create(
                consent=consent,
                shows_withdrawal=consent.is_withdrawn,
                pdf=pdf,
                digest=hashlib.sha256(pdf).hexdigest(),
                made_at=timezone.now(),
            )
            digest = {"digest": paper.digest}
            trail.add("consent.paper_made", paper, patient_id=consent.patient_id, after=digest)
    except IntegrityError:
        # Somebody else made it in the meantime.
        with transaction.atomic():
            paper = kept.get()
    return paper


def _printed(template: str, context: dict[str, Any]) -> bytes:
    return render_pdf(document_html(template, {**context, "policy": current_policy()}))
