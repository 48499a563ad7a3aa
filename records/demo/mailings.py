"""The demo's texts for letters and e-mails."""

from records.demo.clinic import DemoClinic, fixture
from records.mailings.models import MailTemplate
from records.mailings.services.templates import save_template


def write_templates(clinic: DemoClinic) -> None:
    for row in fixture("mailings"):
        save_template(template=MailTemplate(**row), actor=clinic.staff["owner"])
