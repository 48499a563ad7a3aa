"""The clinic's own texts."""

from clinic.audit.services import acting, changes, snapshot
from planning.merging import MergeError, check_body, check_subject
from records.mailings.errors import MailingError
from records.mailings.models import MailTemplate
from records.mailings.occasions import all_placeholders

TEMPLATE_FIELDS = ["name", "subject", "body", "is_active"]


def save_template(*, template: MailTemplate, actor) -> MailTemplate:
    """
    Store a new or changed template. Mailings that were started keep the text they have.

    Raises:
        MailingError: an unknown placeholder, or one in the subject that everybody could read.
    """
    known = all_placeholders()
    try:
        check_subject(template.subject, known)
        check_body(template.body, known)
    except MergeError as error:
        raise MailingError(str(error)) from error
    with acting(actor) as trail:
        stored = MailTemplate.objects.select_for_update().filter(pk=template.pk).first()
        before = snapshot(stored, TEMPLATE_FIELDS) if stored else {}
        template.save()
        before, after = changes(before, snapshot(template, TEMPLATE_FIELDS))
        if after:
            trail.add("mail_template.saved", template, before=before, after=after)
    return template
