from django.contrib import admin
from django.urls import include, path

from config import passwords, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("password/", passwords.PasswordChange.as_view(), name="password-change"),
    path("password/forgotten/", passwords.PasswordForgotten.as_view(), name="password-forgotten"),
    path("password/mailed/", passwords.PasswordMailed.as_view(), name="password-mailed"),
    path("password/new/<uidb64>/<token>/", passwords.PasswordNew.as_view(), name="password-new"),
    path("password/chosen/", passwords.PasswordChosen.as_view(), name="password-chosen"),
    path("health", views.health, name="health"),
    path("colours/", views.scheme_set, name="scheme-set"),
    path("admin/", admin.site.urls),
    path("", include("participants.urls")),
    path("", include("trips.urls")),
]

handler400 = "config.views.bad_request"
handler403 = "config.views.forbidden"
handler404 = "config.views.not_found"
handler500 = "config.views.server_error"
