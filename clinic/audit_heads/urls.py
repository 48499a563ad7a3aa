from django.urls import path

from clinic.audit_heads import views

urlpatterns = [
    path("", views.audit_head_list, name="audit-head-list"),
    path("<int:pk>/pdf/", views.audit_head_pdf, name="audit-head-pdf"),
]
