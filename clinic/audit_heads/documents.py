"""A day's head on one page, to be signed and put away, and the same by e-mail."""

from django.template.loader import render_to_string

from clinic.audit_heads.models import DailyHead
from clinic.policy.models import ClinicPolicy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf


def head_pdf(head: DailyHead, policy: ClinicPolicy) -> bytes:
    return render_pdf(document_html("print/audit_head.html", {"head": head, "policy": policy}))


def head_text(head: DailyHead, policy: ClinicPolicy) -> str:
    return render_to_string("audit_heads/mail.txt", {"head": head, "policy": policy})
