"""Addresses of participants' pages that know trips. All carry the person's uuid."""

from django.urls import path

from trips.views import my_data, my_days, my_forms, my_papers

BASE = "my/<uuid:person_uuid>/"

urlpatterns = [
    path(BASE, my_days.my_start, name="my-start"),
    path(f"{BASE}pack.json", my_days.my_pack, name="my-pack"),
    path(f"{BASE}days/", my_days.my_days, name="my-days"),
    path(f"{BASE}days/read/", my_days.my_days_read, name="my-days-read"),
    path(f"{BASE}drawings/<uuid:session_uuid>/<int:number>.svg", my_days.my_drawing, name="my-drawing"),
    path(f"{BASE}wishes/", my_forms.my_wishes_edit, name="my-wishes"),
    path(f"{BASE}details/", my_forms.my_details, name="my-details"),
    path(f"{BASE}health/", my_forms.my_health, name="my-health"),
    path(f"{BASE}data/", my_data.my_data_show, name="my-data"),
    path(f"{BASE}data/file/", my_data.my_data_file, name="my-data-file"),
    path(f"{BASE}data/erase/", my_data.my_data_erase, name="my-data-erase"),
    path(f"{BASE}briefing/", my_papers.my_briefing_show, name="my-briefing"),
    path(f"{BASE}briefing.pdf", my_papers.my_briefing_file, name="my-briefing-file"),
    path(f"{BASE}calendar/", my_papers.my_calendar, name="my-calendar"),
    path(f"{BASE}calendar/turns.ics", my_papers.my_calendar_file, name="my-calendar-file"),
    path(f"{BASE}calendar/replace/", my_papers.my_calendar_replace, name="my-calendar-replace"),
]
