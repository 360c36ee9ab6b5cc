"""Forms drawn as the cells of a table: no label beside the box, so that each box says itself what it is about."""

from django import forms

BOX_CLASSES: dict[type[forms.Widget], str] = {
    forms.Select: "form-select",
    forms.CheckboxInput: "form-check-input",
}


def fill_cells(form: forms.BaseForm, about: str) -> None:
    """Give every visible box of the form its looks and a name for those who do not see the table: "Quality, left"."""
    for field in form.fields.values():
        for widget in getattr(field.widget, "widgets", None) or [field.widget]:
            own = widget.attrs.get("aria-label")
            widget.attrs["aria-label"] = ", ".join(filter(None, [str(field.label or ""), own, about]))
            widget.attrs["class"] = BOX_CLASSES.get(type(widget), "form-control")
