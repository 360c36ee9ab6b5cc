"""Sentences about papers that cannot be made."""

from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from trips.documents.scripts import NoFont, PaperFailed

_FAILED = {
    "page_size": noted("“{detail}” is no page size here. Choose A4 or Letter."),
    "address": noted("A text or drawing asked for “{detail}”, and papers fetch nothing. Take it out and try again."),
    "drawing": noted("A drawing could not be printed whole ({detail}). No paper was made."),
    "more_than_a_page": noted(
        "The owner's sheet of {detail} has to fit on one page, and there is too much on it. Shorten the hides' tasks."
    ),
    "picture_too_large": noted("The picture is too large ({detail}). Make it smaller than 40 megapixels and 30 MB."),
    "picture_unreadable": noted("The file is not a picture that can be read. Use JPEG, PNG, WebP or TIFF."),
    "code_too_long": noted("The address {detail} is too long for a QR code. Shorten PUBLIC_URL."),
    "no_rota": noted("This trip has no rota yet. Make one first."),
    "no_person": noted("Nobody on this trip has the identity {detail}."),
}


def no_font(error: NoFont) -> str:
    """What cannot be printed, where it stands, and which package would help."""
    packages = ", ".join(dict.fromkeys(one.package for one in error.scripts))
    return f"{_without_font(error)} Install the package {packages}, or write it in another script. No paper was made."


def _without_font(error: NoFont) -> str:
    first = error.scripts[0]
    others = "".join(f", {one.script} ({one.characters[:10]})" for one in error.scripts[1:])
    script = f"{first.script} ({first.characters[:10]}){others}"
    return _("No font here prints {script}, as in “{text}”.", script=script, text=error.where)


def paper_failed(error: PaperFailed) -> str:
    """Why a paper was not made, and what to do."""
    return _(_FAILED[error.reason], detail=error.detail)


def paper_fault(error: NoFont | PaperFailed) -> str:
    """The sentence for either."""
    return no_font(error) if isinstance(error, NoFont) else paper_failed(error)


def own_paper_fault(error: NoFont | PaperFailed) -> str:
    """Why a person's own paper was not made, to somebody who can read its page but mend nothing."""
    why = _without_font(error) if isinstance(error, NoFont) else paper_failed(error)
    return _("The PDF could not be printed. {why} All of it stands on this page. Tell your leader.", why=why)
