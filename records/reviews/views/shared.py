from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.reviews.models import Review


def with_patient(pk: int) -> Review:
    """The review for a page about it, people, session and appointment included."""
    reviews = Review.objects.select_related(
        "patient", "session__injector", "appointment", "closed_by"
    )
    return get_object_or_404(reviews, pk=pk)


def closed_page(request: HttpRequest, review: Review, back: str) -> HttpResponse:
    """What stands in place of a form that only an open review has."""
    return render(request, "reviews/closed.html", {"review": review, "back": back})


def asks_of_closed(request: HttpRequest, review: Review) -> bool:
    """Whether the form of a closed review is called up; one sent off is answered as a form."""
    return request.method == "GET" and review.closed_at is not None
