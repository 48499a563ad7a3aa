from django.urls import path

from records.follow_up.views import contact, lists

urlpatterns = [
    path("", lists.follow_up_list, name="follow-up"),
    path("review/<int:pk>/", contact.review_contact, name="follow-up-review"),
    path("event/<int:pk>/", contact.event_contact, name="follow-up-event"),
    path("recall/<int:pk>/", contact.recall_contact, name="follow-up-recall"),
]
