"""The report of a recall case as PDF."""

from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.recalls.models import RecallCase
from records.recalls.queries.report import report_content


def report_html(case: RecallCase) -> str:
    """The report as the HTML that is printed; of an open case, a draft that says so."""
    report = report_content(case)
    return document_html("print/recall_report.html", {"report": report, "policy": report.policy})


def make_report(case: RecallCase) -> bytes:
    """
    PDF/UA-1, DRILL across each page where the case is one. No clock is in it: the same case gives
    the same bytes.
    """
    return render_pdf(report_html(case))
