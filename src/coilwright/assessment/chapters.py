"""The chapters of an assessment, in the order of the work."""

from enum import StrEnum


class Chapter(StrEnum):
    """What an advisory is about."""

    IDENTITY = "identity"
    WARNING_SIGNS = "warning-signs"
    FINDINGS = "findings"
    INDICATION = "indication"
    KIDNEY_AND_CONTRAST = "kidney-and-contrast"
    BLEEDING = "bleeding"
    DRUGS = "drugs"
    RADIATION = "radiation"
    CONSENT = "consent"

    @property
    def heading(self) -> str:
        """The chapter's heading."""
        return _HEADINGS[self]


_HEADINGS = {
    Chapter.IDENTITY: "Who, and which side",
    Chapter.WARNING_SIGNS: "What must not be missed",
    Chapter.FINDINGS: "What was found",
    Chapter.INDICATION: "Is treatment indicated",
    Chapter.KIDNEY_AND_CONTRAST: "Kidney, contrast, allergy",
    Chapter.BLEEDING: "Bleeding",
    Chapter.DRUGS: "Anaesthetic, sclerosant, sedation",
    Chapter.RADIATION: "Radiation",
    Chapter.CONSENT: "Figures for consent",
}

# What a plan and a report repeat: by then the patient has been seen and has consented.
AROUND_THE_PROCEDURE = tuple(
    chapter
    for chapter in Chapter
    if chapter not in (Chapter.FINDINGS, Chapter.INDICATION, Chapter.CONSENT)
)
