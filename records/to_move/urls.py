from django.urls import path

from records.to_move import views

urlpatterns = [
    path("", views.to_move, name="to-move"),
    path("count/", views.count, name="to-move-count"),
    path("notice/", views.notice, name="to-move-notice"),
    path("during/", views.during, name="to-move-during"),
    path("named/", views.named, name="to-move-named"),
]
