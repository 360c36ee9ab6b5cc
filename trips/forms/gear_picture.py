"""Forms of gear read from one picture: the file, then what was read, to be confirmed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from participants.core.exif import PictureGear
from trips.forms.gear import OWN_FORMAT, BodyForm, LensForm, PieceForm


class PictureForm(forms.Form):
    """One JPEG straight from the camera."""

    picture = forms.FileField(
        label=_("Picture straight from the camera (JPEG)"),
        allow_empty_file=True,
        widget=forms.ClearableFileInput({"accept": "image/jpeg", "data-head-only": ""}),
        error_messages={"required": _("Choose a picture first.")},
    )


def _body_initial(gear: PictureGear) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if gear.body_name is not None:
        found["name"] = gear.body_name.value
    if gear.pixels is not None:
        found["pixels_wide"], found["pixels_high"] = gear.pixels.value
    if gear.sensor_mm is not None:
        found["sensor_width_mm"], found["sensor_height_mm"] = gear.sensor_mm.value
    else:
        found["sensor"] = OWN_FORMAT
    return found


def _lens_initial(gear: PictureGear) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if gear.lens_name is not None:
        found["name"] = gear.lens_name.value
    if gear.focal_range_mm is not None:
        found["focal_min_mm"], found["focal_max_mm"] = gear.focal_range_mm.value
    if gear.apertures is not None:
        found["aperture_wide"], found["aperture_long"] = gear.apertures.value
    return found


def confirm_forms(data: Any, units: str, gear: PictureGear | None = None) -> tuple[BodyForm, LensForm]:
    """The two forms: filled from what was read, or from what came back."""
    body, lens = (_body_initial(gear), _lens_initial(gear)) if gear is not None else ({}, {})
    forms_made = (
        BodyForm(data, prefix="body", units=units, initial=body),
        LensForm(data, prefix="lens", units=units, initial=lens),
    )
    for form in forms_made:
        form.fields["use"] = forms.BooleanField(required=False, initial=True, label=_("add this to my gear"))
    return forms_made


def confirmed_pieces(data: Any, body: BodyForm, lens: LensForm) -> list[Any] | None:
    """The pieces of the forms that are to be used, unsaved; None when one of those has something to put right."""
    used: list[PieceForm] = [form for form in (body, lens) if data.get(form.add_prefix("use"))]
    valid = [form.is_valid() for form in used]  # both are looked at, so that both say what is wrong
    if not all(valid):
        return None
    return [form.save(commit=False) for form in used]
