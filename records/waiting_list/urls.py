from django.urls import path

from records.waiting_list.views import entries, offers

urlpatterns = [
    path("", entries.waiting_list, name="waiting-list"),
    path("new/", entries.entry_add, name="waiting-add"),
    path("for-patient/<int:pk>/", entries.for_patient, name="waiting-for-patient"),
    path("<int:pk>/edit/", entries.entry_edit, name="waiting-edit"),
    path("<int:pk>/remove/", entries.entry_remove, name="waiting-remove"),
    path("<int:pk>/reopen/", entries.entry_reopen, name="waiting-reopen"),
    path("<int:pk>/next-time/", entries.next_time, name="waiting-next-time"),
    path("times/<int:pk>/", offers.freed_time, name="waiting-time"),
    path("times/<int:pk>/offer/", offers.time_offer, name="waiting-time-offer"),
    path("times/<int:pk>/leave/", offers.time_leave, name="waiting-time-leave"),
    path("offers/<int:pk>/accept/", offers.offer_accept, name="waiting-offer-accept"),
    path("offers/<int:pk>/decline/", offers.offer_decline, name="waiting-offer-decline"),
    path("offers/<int:pk>/withdraw/", offers.offer_withdraw, name="waiting-offer-withdraw"),
]
