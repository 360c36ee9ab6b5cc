"""Help: the handbook keeps to the trip's path, the methods to the code, and both are served."""

import re
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from tests import factories, methods_page
from trips.documents.help_pages import help_html
from trips.selectors.trip_path import trip_path

ROOT = Path(__file__).resolve().parents[2]


def test_the_methods_are_those_of_the_code_and_name_every_file_of_checks():
    text = methods_page.page_text()
    assert methods_page.PAGE.read_text() == text, "run script/methods"
    assert methods_page.check_files() <= set(re.findall(r"`(\w+\.csv)`", text))


def test_a_document_becomes_a_page():
    text = "# A & <b>\n\nOne\ntwo [there](b.md), [away](c.md), `x|y` **bold**.\n\n- a\n- b\n\n1. c\n\n|h|\n|-|\n|`i`|"
    page = re.sub(r">\n<", "><", help_html(text, {"b.md": "/b/"})).replace("\n", " ").strip()
    assert page == (
        "<h1>A &amp; &lt;b&gt;</h1>"
        '<p>One two <a href="/b/">there</a>, away, <code>x|y</code> <strong>bold</strong>.</p>'
        "<ul><li>a</li><li>b</li></ul><ol><li>c</li></ol>"
        '<div class="table-scroll" role="region" tabindex="0" aria-label="Values">'
        '<table class="table table-sm"><thead><tr><th scope="col">h</th></tr></thead>'
        "<tbody><tr><td><code>i</code></td></tr></tbody></table></div>"
    )


@pytest.mark.django_db
def test_the_handbook_has_the_steps_of_the_path_and_every_leaders_page_leads_there(client, clock):
    trip = factories.trip()
    steps = [step.title for step in trip_path(trip, [], timezone.now())]
    page = client.get(reverse("trips:handbook")).content.decode()
    titles = re.findall(r"<h2>(.*?)</h2>", page)
    assert [title for title in titles if title in steps] == steps
    assert f'href="{reverse("trips:methods")}"' in page
    assert "<h2>Heat and water</h2>" in client.get(reverse("trips:methods")).content.decode()
    client.force_login(trip.leader)
    assert f'href="{reverse("trips:handbook")}"' in client.get(reverse("trips:trip-list")).content.decode()
