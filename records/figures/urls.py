from django.urls import path

from records.figures import views

urlpatterns = [
    path("", views.figures, name="figures"),
    path("csv/", views.figures_csv, name="figures-csv"),
]
