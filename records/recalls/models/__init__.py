"""
Recall cases: from a maker's notice to the report that it is done.

What a case reached is found by its spans: lots, and where serial numbers are named only those
units. A case that is closed never changes, and a drill is a case in which nobody is contacted.
"""

from records.recalls.models.cases import CaseQuerySet, CaseSpan, NoticeFile, RecallCase
from records.recalls.models.checks import CaseCheck, CaseReport
from records.recalls.models.people import CaseContact, CaseEvent, CaseMailing, CasePatient
from records.recalls.models.units import CaseUnit

__all__ = [
    "CaseCheck",
    "CaseContact",
    "CaseEvent",
    "CaseMailing",
    "CasePatient",
    "CaseQuerySet",
    "CaseReport",
    "CaseSpan",
    "CaseUnit",
    "NoticeFile",
    "RecallCase",
]
