"""Signing in of leaders, in one step or two; where they are signed in; and an end of it everywhere.

The second step is a code of an authenticator app (TOTP, RFC 6238) or one of ten recovery codes, each good once. It is
asked when somebody signs in. Whoever switches it on is signed out everywhere else, so that no session is without it.
"""

import logging
import time
from typing import Any

import segno
from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, get_user_model, login, logout
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_otp.oath import TOTP
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice, default_key

from config.middleware import SEEN_HOUR, this_hour
from participants.access import device_name, device_noted
from participants.session_store import DEVICE_NAME, leader_sessions, leader_sessions_end

# Cookies stay at log-in, or the new session would go with them.
CLEAR_AT_LOG_IN = '"cache", "storage"'
CLEAR_AT_LOG_OUT = '"cache", "cookies", "storage"'
WAITS, NEW_KEY = "second_step_waits", "second_step_new_key"  # names in the session
WAITS_S = 600  # after a right password; then it is asked again
RECOVERY_CODES = 10
CODE_DIGITS = 6
CODE_WRONG = "That is not the code of this moment. Wait for the next one, then type it."
NOT_CHANGED = "That is not your password. Nothing was changed."
security_log = logging.getLogger("fairhide.security")


class CodeForm(forms.Form):
    """A code of the app, or a recovery code."""

    code = forms.CharField(
        max_length=20, widget=forms.TextInput({"autocomplete": "one-time-code", "autocapitalize": "none"})
    )

    def clean_code(self) -> str:
        """The code without the spaces that people type for reading."""
        return "".join(self.cleaned_data["code"].split()).lower()


class PasswordForm(forms.Form):
    """The password once more, before the second step changes."""

    password = forms.CharField(
        label="Your password", strip=False, widget=forms.PasswordInput({"autocomplete": "current-password"})
    )


class SignIn(LoginView):
    """The password. Somebody with a second step is not signed in by it; the code is asked next."""

    redirect_authenticated_user = True

    def form_valid(self, form: Any) -> HttpResponse:
        user = form.get_user()
        if not _apps_of(user).exists():
            return super().form_valid(form)
        onwards = self.get_success_url()
        self.request.session[WAITS] = {"user": user.pk, "backend": user.backend, "next": onwards, "at": time.time()}
        return redirect("sign-in-code")


@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponseBase:
    """The leaders' sign-in; what an earlier person left in the browser goes, what the same leader left stays."""
    response = SignIn.as_view()(request)
    return _came_in(request, response) if request.method == "POST" and request.user.is_authenticated else response


@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_to_admin(request: HttpRequest) -> HttpResponseBase:
    """The admin is entered by the same door; a leader who is no staff is led home."""
    if request.user.is_authenticated and not request.user.is_staff:
        messages.error(request, "The admin is for the staff of this server.")
        return redirect("home")
    return sign_in(request)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponseBase:
    """The second step."""
    waits = request.session.get(WAITS, {})
    user = get_user_model().objects.filter(pk=waits.get("user"), is_active=True).first()
    if user is None or time.time() - waits["at"] > WAITS_S:
        return redirect("sign-in")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if code_is_right(user, form.cleaned_data["code"]):
            del request.session[WAITS]
            login(request, user, backend=waits["backend"])
            return _came_in(request, redirect(waits["next"]))
        security_log.warning("A wrong second code of leader %s.", user.pk)
        form.add_error("code", CODE_WRONG)
    return render(request, "registration/sign_in_code.html", {"form": form})


def _came_in(request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
    security_log.info("Leader %s signed in.", request.user.pk)
    request.session[SEEN_HOUR] = this_hour()
    request.session[DEVICE_NAME] = device_name(request.headers.get("User-Agent", ""))
    if not device_noted(request, response, f"leader-{request.user.pk}"):
        response.headers["Clear-Site-Data"] = CLEAR_AT_LOG_IN
    return response


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session and empty what the browser kept."""
    logout(request)
    response = redirect(settings.LOGOUT_REDIRECT_URL)
    response.headers["Clear-Site-Data"] = CLEAR_AT_LOG_OUT
    return response


@never_cache
@login_required
@require_safe
def sign_in_show(request: HttpRequest) -> HttpResponse:
    """The leader's own sign-in: the second step, and where they are signed in."""
    return _sign_in_page(request, PasswordForm())


def _sign_in_page(request: HttpRequest, form: PasswordForm) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "sessions": leader_sessions(request.user, request.session.session_key)}
    context["crumbs"] = [("You as leader", reverse("trips:leader-edit")), ("Your sign-in", "")]
    context["two_steps"] = _apps_of(request.user).exists()
    context["codes_left"] = StaticToken.objects.filter(device__user=request.user).count()
    return render(request, "registration/sign_in_show.html", context)


@login_required
@require_POST
def sessions_end(request: HttpRequest) -> HttpResponse:
    """Sign out everywhere, here too."""
    leader_sessions_end(request.user)
    security_log.info("Leader %s signed out everywhere.", request.user.pk)
    return sign_out(request)


@never_cache
@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def two_steps_begin(request: HttpRequest) -> HttpResponse:
    """A key for the app as a QR code; a first code of it switches the second step on."""
    if _apps_of(request.user).exists():
        return redirect("sign-in-show")
    key = request.session.setdefault(NEW_KEY, default_key())
    app, form = TOTPDevice(user=request.user, name="app", key=key), CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if second_step_begin(app, form.cleaned_data["code"]):
            del request.session[NEW_KEY]
            leader_sessions_end(request.user, but=request.session.session_key)
            return _codes_page(request, "Two steps are on")
        form.add_error("code", CODE_WRONG)
    code = segno.make(app.config_url, error="m", micro=False).svg_data_uri(border=4, scale=5, light="#fff")
    typed = app.config_url.partition("secret=")[2].partition("&")[0]
    context = {"form": form, "code": code, "typed": [typed[at : at + 4] for at in range(0, len(typed), 4)]}
    context["crumbs"] = [("Your sign-in", reverse("sign-in-show")), ("Two steps", "")]
    return render(request, "registration/two_steps_begin.html", context)


@never_cache
@login_required
@require_POST
def two_steps_change(request: HttpRequest) -> HttpResponse:
    """With the password: new recovery codes, or no second step any more."""
    form = PasswordForm(request.POST)
    if form.is_valid():
        given = {"username": request.user.get_username(), "password": form.cleaned_data["password"]}
        if authenticate(request, **given) != request.user:
            form.add_error("password", NOT_CHANGED)
        elif request.POST.get("step") == "codes" and _apps_of(request.user).exists():
            return _codes_page(request, "New recovery codes")
        else:
            _apps_of(request.user).delete()
            StaticDevice.objects.filter(user=request.user).delete()
            security_log.info("Leader %s switched the second step off.", request.user.pk)
            messages.success(request, "Your password alone signs you in from now on.")
            return redirect("sign-in-show")
    return _sign_in_page(request, form)


@transaction.atomic
def second_step_begin(app: TOTPDevice, code: str) -> bool:
    """Keep a leader's app if the code is its own; that code is used up. Two presses keep one app."""
    get_user_model().objects.select_for_update().get(pk=app.user.pk)
    moment = TOTP(app.bin_key)
    moment.time = time.time()
    if not _is_of_app(code) or not moment.verify(int(code), app.tolerance):
        return False
    if not _apps_of(app.user).exists():
        app.last_t = moment.t()
        app.save()
    return True


@transaction.atomic
def code_is_right(user: Any, code: str) -> bool:
    """Whether it is a code of theirs, which is then used up; after a wrong one the next counts after a pause."""
    kind = TOTPDevice if _is_of_app(code) else StaticDevice
    device = kind.objects.select_for_update().filter(user=user, confirmed=True).first()
    return device is not None and bool(device.verify_token(code))


@transaction.atomic
def recovery_codes_make(user: Any) -> list[str]:
    """Ten recovery codes in place of those before."""
    StaticDevice.objects.filter(user=user).delete()
    device = StaticDevice.objects.create(user=user, name="recovery codes")
    codes = [StaticToken.random_token() for _ in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create(StaticToken(device=device, token=code) for code in codes)
    return codes


def _codes_page(request: HttpRequest, title: str) -> HttpResponse:
    """The only page that ever shows them."""
    security_log.info("Leader %s got recovery codes.", request.user.pk)
    context = {"title": title, "codes": recovery_codes_make(request.user)}
    return render(request, "registration/recovery_codes.html", context)


def _is_of_app(code: str) -> bool:
    return len(code) == CODE_DIGITS and code.isascii() and code.isdigit()


def _apps_of(user: Any) -> Any:
    return TOTPDevice.objects.filter(user=user, confirmed=True)
