from django.urls import path

from clinic.counts.views import counting, lists, posting

urlpatterns = [
    path("", lists.count_list, name="count-list"),
    path("new/", lists.count_start, name="count-start"),
    path("<int:pk>/", lists.count_detail, name="count-detail"),
    path("<int:pk>/give-up/", lists.count_give_up, name="count-give-up"),
    path("<int:pk>/sheet.pdf", lists.count_pdf, name="count-pdf"),
    path("<int:pk>/progress/", counting.count_progress, name="count-progress"),
    path("<int:pk>/scan/", counting.count_scan, name="count-scan"),
    path("<int:pk>/scan/extra/", counting.count_scan_extra, name="count-scan-extra"),
    path("<int:pk>/see/", counting.count_see, name="count-see"),
    path("<int:pk>/take-back/", counting.count_take_back, name="count-take-back"),
    path("<int:pk>/extras/", posting.count_extra_add, name="count-extra-add"),
    path("extras/<int:pk>/", posting.count_extra_edit, name="count-extra-edit"),
    path("extras/<int:pk>/remove/", posting.count_extra_remove, name="count-extra-remove"),
    path("<int:pk>/compare/", posting.count_compare, name="count-compare"),
]
