from django.urls import URLPattern, URLResolver, path

from participants import views

app_name = "participants"

urlpatterns: list[URLPattern | URLResolver] = [
    path("service-worker.js", views.service_worker, name="service-worker"),
    path("in/", views.link_ask, name="link-ask"),
    path("in/open/", views.link_press, name="link-press"),
    path("in/<str:token>/", views.link_open, name="link-open"),
    path("my/sign-out/", views.participant_sign_out, name="participant-sign-out"),
    path("my/<uuid:person_uuid>/devices/", views.device_list, name="device-list"),
    path("my/<uuid:person_uuid>/devices/<uuid:device_uuid>/sign-out/", views.device_revoke, name="device-revoke"),
    path("my/<uuid:person_uuid>/links/end/", views.my_links_revoke, name="my-links-revoke"),
    path("people/<uuid:person_uuid>/way-in/", views.sign_in_link_show, name="sign-in-link-show"),
    path("people/<uuid:person_uuid>/way-in/mail/", views.sign_in_link_mail, name="sign-in-link-mail"),
    path("people/<uuid:person_uuid>/way-in/hand-over/", views.sign_in_link_hand, name="sign-in-link-hand"),
    path("people/<uuid:person_uuid>/way-in/revoke/", views.sign_in_link_revoke, name="sign-in-link-revoke"),
]
