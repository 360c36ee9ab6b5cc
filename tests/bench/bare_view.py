"""The least that Django serves, as the rival of a load: one view without a database, behind its usual middleware."""

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.http import HttpRequest, HttpResponse
from django.urls import path

BODY = b"<!doctype html><title>bare</title>" + b"<p>As many letters as a day of a person has.</p>" * 300


def bare(request: HttpRequest) -> HttpResponse:
    """The same bytes for everybody."""
    return HttpResponse(BODY)


urlpatterns = [path("", bare)]
settings.configure(
    SECRET_KEY="a key of a benchmark, long enough: 0123456789abcdef0123456789",
    ALLOWED_HOSTS=["localhost"],
    ROOT_URLCONF=__name__,
    MIDDLEWARE=["django.middleware.security.SecurityMiddleware", "django.middleware.common.CommonMiddleware"],
)
application = get_wsgi_application()
