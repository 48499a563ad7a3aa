"""Giving out the report of a case; that of a closed one is made once and kept."""

import hashlib

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, record_read
from records.recalls.models import CaseReport, RecallCase
from records.recalls.report import make_report


def give_out_report(*, case: RecallCase, actor) -> bytes:
    """
    The PDF, and a row in the audit trail that `actor` had it.

    A closed case's report is given out byte by byte as it was made; an open one's is a draft and
    not kept.
    """
    if case.is_open:
        record_read(actor, case, action="recall.draft_printed")
        return make_report(case)
    report = keep_report(case=case, actor=actor)
    record_read(actor, case, action="recall.report_printed")
    return bytes(report.pdf)


def keep_report(*, case: RecallCase, actor) -> CaseReport:
    """
    The kept report of a closed case, made now if there is none yet: printing takes seconds, so it
    follows the closing instead of being a part of it. Its digest stands in the audit trail.
    """
    if report := CaseReport.objects.filter(case=case).first():
        return report
    pdf = make_report(case)
    try:
        with acting(actor) as trail:
            report = CaseReport.objects.create(
                case=case, pdf=pdf, digest=hashlib.sha256(pdf).hexdigest(), made_at=timezone.now()
            )
            trail.add("recall.report_kept", case, after={"digest": report.digest})
    except IntegrityError:
        # Somebody else made it in the meantime.
        with transaction.atomic():
            report = CaseReport.objects.get(case=case)
    return report
