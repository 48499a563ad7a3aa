from django.urls import path

from records.charting.views import day, pages, pictures, reference, sync, worker

urlpatterns = [
    path("", pages.charting, name="charting"),
    path("day/", day.charting_day, name="charting-day"),
    path("sync/", sync.charting_sync, name="charting-sync"),
    path("reference/<slug:seal>/", reference.reference, name="charting-reference"),
    path("worker.js", worker.charting_worker, name="charting-worker"),
    path("manifest.webmanifest", worker.charting_manifest, name="charting-manifest"),
    path("pictures/<uuid:key>/", pictures.picture, name="charting-picture"),
]
