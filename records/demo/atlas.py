"""What the demo clinic has written into the face atlas itself."""

from clinic.atlas.models import AtlasEntry
from clinic.atlas.services import save_entry
from planning.sources import Confidence
from records.demo.clinic import DemoClinic, fixture


def write_atlas(clinic: DemoClinic) -> None:
    for row in fixture("atlas"):
        entry = AtlasEntry(source_title="Clinic policy", trust=Confidence.CLINIC_POLICY, **row)
        save_entry(entry=entry, actor=clinic.staff["owner"])
