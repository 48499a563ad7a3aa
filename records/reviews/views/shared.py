from django.shortcuts import get_object_or_404

from records.reviews.models import Review


def with_patient(pk: int) -> Review:
    """The review for a page about it, patient and session included."""
    return get_object_or_404(Review.objects.select_related("patient", "session"), pk=pk)
