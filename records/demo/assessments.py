"""What the injectors of the demo saw before they planned: a few patients, some of them twice."""

import uuid
from datetime import timedelta
from functools import partial
from typing import Any

from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import Region
from records.assessments.services import record_assessment
from records.demo.clinic import at, fixture
from records.demo.story import Story


def plan_assessments(story: Story) -> None:
    """Note those of `fixtures/demo/assessments.json`, the earlier ones of a patient first."""
    for number, row in enumerate(fixture("assessments")):
        day = story.today - timedelta(days=row["days_ago"])
        day += timedelta(days=day.isoweekday() == 7)
        story.diary.note(at(day, 10, number), partial(_assess, story, number, row))


def _assess(story: Story, number: int, row: dict[str, Any]) -> None:
    record_assessment(
        patient=story.patients[row["patient"]],
        grades=[
            RegionGrade(Region(region), Scale(scale), right=right, midline=midline, left=left)
            for region, scale, right, midline, left in row["grades"]
        ],
        note=row["note"],
        # Of its own, so that the story's throws stay as they are.
        key=uuid.UUID(int=number + 1, version=4),
        actor=story.clinic.injectors[number % 2],
    )
