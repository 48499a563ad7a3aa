from django.urls import path

from records.trace import views

urlpatterns = [
    path("", views.trace, name="trace"),
    path("<int:pk>/", views.trace_lot, name="trace-lot"),
    path("<int:pk>/csv/", views.trace_csv, name="trace-csv"),
    path("<int:pk>/pdf/", views.trace_pdf, name="trace-pdf"),
]
