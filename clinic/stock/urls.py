from django.urls import path

from clinic.stock import views

urlpatterns = [
    path("", views.stock_list, name="stock-list"),
    path("lots/<int:pk>/", views.lot_detail, name="lot-detail"),
    path("units/<int:pk>/", views.unit_detail, name="unit-detail"),
    path("units/<int:pk>/take-out/", views.unit_take_out, name="unit-take-out"),
    path("units/<int:pk>/discard/", views.unit_discard, name="unit-discard"),
]
