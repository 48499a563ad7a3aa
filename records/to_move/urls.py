from django.urls import path

from records.to_move import views

urlpatterns = [
    path("", views.to_move, name="to-move"),
    path("during/", views.during, name="to-move-during"),
]
