"""Rotas: shown, made, changed, issued, compared."""

from django.urls import path

from trips.views import rota as views
from trips.views import told
from trips.views import turn as turns

BASE = "trips/<uuid:trip_uuid>/rota/"
ONE = f"{BASE}<int:number>/"
TURN = f"{ONE}turn/<uuid:session_uuid>/<str:who>/"

urlpatterns = [
    path(BASE, views.rota_show, name="rota-show"),
    path(f"{BASE}make/", views.rota_make, name="rota-make"),
    path(f"{BASE}making/", views.rota_making, name="rota-making"),
    path(f"{BASE}making/<uuid:making_uuid>/stop/", views.rota_stop, name="rota-stop"),
    path(f"{BASE}making/<uuid:making_uuid>/remedy/<int:number>/", views.remedy_take, name="remedy-take"),
    path(f"{BASE}history/", views.rota_history, name="rota-history"),
    path("trips/<uuid:trip_uuid>/told/", told.told_list, name="told-list"),
    path("trips/<uuid:trip_uuid>/told/<uuid:notice_uuid>/", told.told_tick, name="told-tick"),
    path(ONE, views.rota_show, name="rota-number"),
    path(f"{ONE}issue/", views.rota_issue_confirm, name="rota-issue"),
    path(f"{ONE}change/", views.rota_change_day, name="rota-change"),
    path(f"{ONE}withdraw/", views.rota_withdraw, name="rota-withdraw"),
    path(TURN, turns.turn_edit, name="turn-edit"),
    path(f"{TURN}why/", turns.turn_why_show, name="turn-why"),
    path(f"{TURN}pin/", turns.turn_pin_set, name="turn-pin"),
    path(f"{ONE}undo/<uuid:change_uuid>/", turns.turn_undo, name="turn-undo"),
]
