from django.urls import path

from clinic.reorder import views

urlpatterns = [
    path("", views.reorder, name="reorder"),
    path("csv/", views.reorder_csv, name="reorder-csv"),
    path("list.pdf", views.reorder_pdf, name="reorder-pdf"),
]
