from django.urls import path

from clinic.receiving.views import deliveries

urlpatterns = [
    path("", deliveries.receiving, name="receiving"),
    path("discard/", deliveries.receiving_discard, name="receiving-discard"),
    path("<int:pk>/labels/", deliveries.receiving_labels, name="receiving-labels"),
    path("<int:pk>/labels.pdf", deliveries.receiving_labels_pdf, name="receiving-labels-pdf"),
]
