"""Sign-in and sign-out of leaders, the way home, and the pages for what goes wrong."""

from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Leaders go to their trips, everybody else to the sign-in page."""
    return redirect("trips:trip-list" if request.user.is_authenticated else "sign-in")


sign_in = LoginView.as_view()


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    return redirect("sign-in")


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "403.html", status=403)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    return render(request, "500.html", status=500)
