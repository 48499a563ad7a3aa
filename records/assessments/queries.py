"""Assessments of a patient, and what became of each region in between."""

from collections import Counter
from dataclasses import dataclass

from django.db.models import Q

from planning.assessment import Course, Need, RegionGrade, Step, compared, needs
from planning.vocabulary import Side
from records.assessments.models import Assessment
from records.patients.models import Patient


def latest_assessment(patient: Patient) -> Assessment | None:
    """The one that holds, with its regions; None where nobody has assessed the patient."""
    return Assessment.objects.filter(patient=patient).with_grades().first()


def assessment_needs(assessment: Assessment) -> tuple[Need, ...]:
    """What there is to treat, the worst first; see `planning.assessment.needs`."""
    return needs(assessment.grades)


def previous_assessment(assessment: Assessment) -> Assessment | None:
    """The patient's last one before this."""
    before = Q(made_at__lt=assessment.made_at) | Q(made_at=assessment.made_at, pk__lt=assessment.pk)
    same = Assessment.objects.filter(before, patient_id=assessment.patient_id)
    return same.with_grades().first()


@dataclass(frozen=True)
class Assessed:
    """
    An assessment in the list of a patient's.

    Attributes:
        better, worse: sides graded less or more than the time before.
    """

    assessment: Assessment
    has_previous: bool
    better: int
    worse: int


def patient_assessments(patient: Patient) -> list[Assessed]:
    """All of a patient's, newest first, each compared with the one before. Two queries."""
    rows = list(Assessment.objects.filter(patient=patient).with_grades())
    return [
        _counted(row, rows[place + 1] if place + 1 < len(rows) else None)
        for place, row in enumerate(rows)
    ]


def _counted(row: Assessment, before: Assessment | None) -> Assessed:
    courses = Counter(step.course for step in compared(before.grades, row.grades)) if before else {}
    return Assessed(
        row, before is not None, courses.get(Course.IMPROVED, 0), courses.get(Course.WORSE, 0)
    )


@dataclass(frozen=True)
class GradeLine:
    """A region on one scale, for the page: what was graded and what changed."""

    grade: RegionGrade
    steps: tuple[Step, ...]

    @property
    def graded(self) -> list[dict]:
        """Each grade given as {side, grade, word}, as the drawing shows the sides."""
        grades = self.grade.scale.grades
        return [
            {
                "side": "Whole" if side is Side.MIDLINE else side.label,
                "grade": grade,
                "word": grades[grade],
            }
            for side, grade in self.grade.by_side
        ]

    @property
    def changes(self) -> tuple[Step, ...]:
        """What is not as it was; what was not graded before is told by the grade itself."""
        return tuple(step for step in self.steps if step.course in (Course.IMPROVED, Course.WORSE))


def grade_lines(assessment: Assessment, before: Assessment | None) -> list[GradeLine]:
    """The regions of an assessment, each with its steps since `before`."""
    steps = compared(before.grades, assessment.grades) if before else ()
    return [
        GradeLine(
            grade,
            tuple(s for s in steps if (s.region, s.scale) == (grade.region, grade.scale)),
        )
        for grade in assessment.grades
    ]
