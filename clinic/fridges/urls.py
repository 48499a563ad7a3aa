from django.urls import path

from clinic.fridges import views

urlpatterns = [
    path("", views.fridge_list, name="fridge-list"),
    path("<int:pk>/", views.fridge_detail, name="fridge-detail"),
    path("<int:pk>/log/", views.fridge_log, name="fridge-log"),
    path("<int:pk>/csv/", views.fridge_csv, name="fridge-csv"),
    path("excursions/<int:pk>/", views.excursion_detail, name="excursion-detail"),
    path("excursions/<int:pk>/decide/", views.excursion_decide, name="excursion-decide"),
]
