"""Medication that has no kind of its own."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.assessment import LocalAnaesthetic, SclerosantDrug, Sedative
from coilwright.record.stated import ImpossibleFact, need_within, need_words

DOSE = (0.0, 100_000.0)
# A dose that is recorded elsewhere would be missing from its total.
_OWN_KIND = {
    "lidocaine": "lidocaine_given",
    "lignocaine": "lidocaine_given",
    "glyceryl trinitrate": "nitrate_given",
    "nitroglycerin": "nitrate_given",
    "isosorbide dinitrate": "nitrate_given",
    "nitrate": "nitrate_given",
    "sodium tetradecyl sulfate": "sclerosant_given",
    "sodium tetradecyl sulphate": "sclerosant_given",
    **{drug.value: "other_anaesthetic_given" for drug in LocalAnaesthetic},
    **{drug.value: "sedative_given" for drug in Sedative},
    **{drug.value: "sclerosant_given" for drug in SclerosantDrug},
}


class DoseUnit(StrEnum):
    """The unit that the dose was said in; it is never converted."""

    MICROGRAM = "ug"
    MILLIGRAM = "mg"
    GRAM = "g"
    MILLILITRE = "mL"
    MILLIMOLE = "mmol"
    INTERNATIONAL_UNIT = "IU"


@dataclass(frozen=True, slots=True, kw_only=True)
class MedicationGiven:
    """One dose of a drug that has no kind of its own; one that has is refused here."""

    drug: str
    dose: float
    unit: DoseUnit
    route: str | None = None
    why: str | None = None

    def __post_init__(self) -> None:
        _need_a_drug(self.drug)
        need_within("dose", self.dose, DOSE)
        if self.dose == 0:
            raise ImpossibleFact("dose", "0 is no dose", "give the dose, or leave the entry out")
        need_words("route", self.route)
        need_words("why", self.why)


def _need_a_drug(drug: str) -> None:
    need_words("drug", drug)
    kind = _OWN_KIND.get(" ".join(drug.split()).casefold())
    if kind is not None:
        found = "a drug whose total is kept by itself"
        raise ImpossibleFact("drug", found, f"record it as {kind}")
