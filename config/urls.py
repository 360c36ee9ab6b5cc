from django.contrib import admin
from django.urls import include, path

from config import passwords, sign_in, views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", sign_in.sign_in, name="sign-in"),
    path("sign-in/code/", sign_in.sign_in_code, name="sign-in-code"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("leader/sign-in/", sign_in.sign_in_show, name="sign-in-show"),
    path("leader/sign-in/end/", sign_in.sessions_end, name="sessions-end"),
    path("leader/sign-in/two-steps/", sign_in.two_steps_begin, name="two-steps-begin"),
    path("leader/sign-in/two-steps/change/", sign_in.two_steps_change, name="two-steps-change"),
    path("password/", passwords.PasswordChange.as_view(), name="password-change"),
    path("password/forgotten/", passwords.PasswordForgotten.as_view(), name="password-forgotten"),
    path("password/mailed/", passwords.PasswordMailed.as_view(), name="password-mailed"),
    path("password/new/<uidb64>/<token>/", passwords.PasswordNew.as_view(), name="password-new"),
    path("password/chosen/", passwords.PasswordChosen.as_view(), name="password-chosen"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
    path("health", views.health, name="health"),
    path("colours/", views.scheme_set, name="scheme-set"),
    path("admin/login/", sign_in.sign_in_to_admin, name="sign-in-to-admin"),
    path("admin/", admin.site.urls),
    path("", include("participants.urls")),
    path("", include("trips.urls")),
]

handler400 = "config.views.bad_request"
handler403 = "config.views.forbidden"
handler404 = "config.views.not_found"
handler500 = "config.views.server_error"
