from django.urls import path

from records.imports import views

urlpatterns = [
    path("", views.import_list, name="import-list"),
    path("<int:pk>/", views.import_detail, name="import-detail"),
    path("<int:pk>/mapping/", views.import_mapping, name="import-mapping"),
    path("<int:pk>/step/", views.import_step, name="import-step"),
    path("<int:pk>/begin/", views.import_begin, name="import-begin"),
    path("<int:pk>/discard/", views.import_discard, name="import-discard"),
    path("<int:pk>/undo/", views.import_undo, name="import-undo"),
    path("<int:pk>/take-alike/", views.import_all_take, name="import-all-take"),
    path("<int:pk>/errors/", views.import_errors, name="import-errors"),
    path("rows/<int:pk>/take/", views.import_row_take, name="import-row-take"),
    path("for-patient/<int:pk>/", views.imports_for_patient, name="imports-for-patient"),
]
