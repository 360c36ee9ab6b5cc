"""Passwords of leaders: change one, or choose a new one by a mailed link. Django's own views with our words."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse_lazy

from participants.access import client_network
from participants.services import asking_is_free, mail_is_free

FORM, TOLD = "registration/password_form.html", "registration/password_told.html"


class PasswordChange(views.PasswordChangeView):
    """Change your password; every other session of yours ends with it."""

    template_name = FORM
    success_url = reverse_lazy("home")
    extra_context = {
        "title": "Change your password",
        "lead": "Your other phones and computers are signed out.",
        "button": "Change the password",
    }

    def form_valid(self, form: Any) -> HttpResponse:
        messages.success(self.request, "Your password is changed. Other phones and computers are signed out.")
        return super().form_valid(form)


class PasswordForgotten(views.PasswordResetView):
    """Ask for the link; the answer is the same whether anybody has the address."""

    template_name = FORM
    email_template_name = "registration/password_mail.txt"
    subject_template_name = "registration/password_mail.subject.txt"
    success_url = reverse_lazy("password-mailed")
    extra_context = {
        "title": "Choose a new password",
        "lead": "We mail you a link. It works for an hour.",
        "button": "Mail me the link",
    }

    def get_form(self, form_class: Any = None) -> Any:
        form = super().get_form(form_class)
        form.fields["email"].label = "E-mail"
        return form

    def form_valid(self, form: Any) -> HttpResponse:
        is_free = asking_is_free(network=client_network(self.request))
        if not is_free or not mail_is_free(purpose="password", email=form.cleaned_data["email"]):
            return redirect(self.success_url)  # the same answer: a stranger learns nothing and mails nobody
        self.extra_email_context = {"public_url": settings.PUBLIC_URL or self.request.build_absolute_uri("/")[:-1]}
        return super().form_valid(form)


class PasswordMailed(views.PasswordResetDoneView):
    template_name = TOLD
    extra_context = {
        "title": "Look into your mail",
        "lead": "If a leader has this address, a link is on its way. Look into the spam folder too.",
    }


class PasswordNew(views.PasswordResetConfirmView):
    """Open the link and choose. A link that is too old or used says so, with the way to a new one."""

    template_name = FORM
    success_url = reverse_lazy("password-chosen")
    extra_context = {
        "lead": "At least ten letters or signs, not a word that many use.",
        "button": "Save the password",
    }

    def get_template_names(self) -> list[str]:
        return [FORM if self.validlink else "registration/password_dead.html"]

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs) | {"title": "Choose a new password"}


class PasswordChosen(views.PasswordResetCompleteView):
    template_name = TOLD
    extra_context = {"title": "Your new password is saved", "lead": "Sign in with it."}
