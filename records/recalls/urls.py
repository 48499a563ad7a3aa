from django.urls import path

from records.recalls.views import cases, closing, people, pulling

urlpatterns = [
    path("", cases.recall_list, name="recall-list"),
    path("new/", cases.recall_create, name="recall-create"),
    path("<int:pk>/", cases.recall_detail, name="recall-detail"),
    path("<int:pk>/clock/", cases.recall_clock, name="recall-clock"),
    path("<int:pk>/lots/", cases.span_add, name="recall-span-add"),
    path("<int:pk>/notice/", cases.notice_add, name="recall-notice-add"),
    path("<int:pk>/notice/<int:file>/", cases.notice_file, name="recall-notice"),
    path("<int:pk>/end/", cases.recall_end, name="recall-end"),
    path("<int:pk>/people/", people.recall_people, name="recall-people"),
    path("<int:pk>/people/csv/", people.people_csv, name="recall-people-csv"),
    path("<int:pk>/people/pdf/", people.people_pdf, name="recall-people-pdf"),
    path("<int:pk>/people/complete/", people.list_complete, name="recall-list-complete"),
    path("<int:pk>/people/<int:person>/", people.recall_person, name="recall-person"),
    path("<int:pk>/people/<int:person>/book/", people.person_book, name="recall-person-book"),
    path(
        "<int:pk>/people/<int:person>/unreachable/",
        people.person_unreachable,
        name="recall-person-unreachable",
    ),
    path(
        "<int:pk>/people/<int:person>/events/<int:event>/",
        people.event_attach,
        name="recall-event-attach",
    ),
    path("<int:pk>/units/", pulling.recall_units, name="recall-units"),
    path("<int:pk>/units/pdf/", pulling.units_pdf, name="recall-units-pdf"),
    path("<int:pk>/units/apart/", pulling.units_apart, name="recall-units-apart"),
    path("<int:pk>/units/leave/", pulling.units_leave, name="recall-units-leave"),
    path(
        "<int:pk>/units/<int:unit>/not-found/",
        pulling.unit_not_found,
        name="recall-unit-not-found",
    ),
    path("<int:pk>/close/", closing.recall_close, name="recall-close"),
]
