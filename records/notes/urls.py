from django.urls import path

from records.notes import views

urlpatterns = [path("<int:pk>/", views.note_pdf, name="note-pdf")]
