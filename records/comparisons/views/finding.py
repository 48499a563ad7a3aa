"""Which photographs and which side an address names."""

import uuid

from django.http import Http404, HttpRequest

from planning.landmarks import marks_of
from planning.vocabulary import Side
from records.comparisons.enums import Fit
from records.comparisons.queries import Comparison, compare, compare_sides
from records.photographs.models import Photograph


def find_standing(key: uuid.UUID) -> Photograph:
    """One that was taken out of the record is compared by nobody, not by the owner either."""
    photographs = Photograph.objects.standing().select_related("patient", "session__injector")
    photograph = photographs.filter(key=key).first()
    if photograph is None:
        raise Http404("There is no such photograph.")
    return photograph


def find_pair(request: HttpRequest, first: uuid.UUID, second: uuid.UUID) -> Comparison:
    one, other = find_standing(first), find_standing(second)
    if one.pk == other.pk or one.patient_id != other.patient_id:
        raise Http404("These are not two photographs of one patient.")
    stretched = request.GET.get("fit") == Fit.STRETCHED
    return compare(one, other, Fit.STRETCHED if stretched else Fit.SHAPE)


def find_sides(key: uuid.UUID, side: str) -> Comparison:
    photograph = find_standing(key)
    if side not in (Side.RIGHT, Side.LEFT) or not marks_of(photograph.shot.view).has_sides:
        raise Http404("This photograph does not show two sides to compare.")
    return compare_sides(photograph, Side(side))
