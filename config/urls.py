from django.contrib import admin
from django.urls import include, path

from config import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("colours/", views.scheme_set, name="scheme-set"),
    path("admin/", admin.site.urls),
    path("", include("participants.urls")),
    path("", include("trips.urls")),
]

handler400 = "config.views.bad_request"
handler403 = "config.views.forbidden"
handler404 = "config.views.not_found"
handler500 = "config.views.server_error"
