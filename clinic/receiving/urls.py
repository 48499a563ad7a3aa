from django.urls import path

from clinic.receiving.views import deliveries, lists

urlpatterns = [
    path("", deliveries.receiving, name="receiving"),
    path("discard/", deliveries.receiving_discard, name="receiving-discard"),
    path("<int:pk>/labels/", deliveries.receiving_labels, name="receiving-labels"),
    path("<int:pk>/labels.pdf", deliveries.receiving_labels_pdf, name="receiving-labels-pdf"),
    path("list/", lists.stock_list_import, name="stock-list-import"),
    path("list/sample.csv", lists.stock_list_sample, name="stock-list-sample"),
]
