"""Lines of one form whose names are unique among them."""

from typing import Any

from django.forms import BaseInlineFormSet

SAME_NAME = "Another line has this name: give each its own."


class NamedLines(BaseInlineFormSet):
    """Says at the name itself that two lines have the same."""

    def validate_unique(self) -> None:
        """No name twice among the lines that stay; against stored rows each line is asked by itself."""
        taken: set[Any] = set()
        for form in self.forms:
            name = getattr(form, "cleaned_data", {}).get("name")
            if not name or form in self.deleted_forms:
                continue
            if name in taken:
                form.add_error("name", SAME_NAME)
            taken.add(name)
