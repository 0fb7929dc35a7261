"""One page about one case: every figure already worded, shared by HTML page, JSON and PDF."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One statement with what it is about."""

    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PageHead:
    """Who it is and what to look out for; stands at the head of every face.

    ``open_cautions`` are at most three, loudest first; ``more_cautions`` is empty or says how many
    more there are.
    """

    patient_name: str
    patient_id: str
    born: str
    age: str
    sex: str
    side: str
    allergies: str
    open_cautions: tuple[str, ...]
    more_cautions: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VeinRow:
    """One vessel of the map."""

    vessel: str
    kind: str
    joins: str
    length: str
    calibre: str
    how: str
    narrowings: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceRow:
    """One coil at one level; ``place`` is "first choice" to "not advised"."""

    place: str
    advised: bool
    device: str
    name: str
    oversize: str
    undersized: str
    nest: str
    delivery: str
    shelf: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRow:
    """One level to close, in the order of placement.

    ``first`` is null where nothing is advised first, and ``first_words`` then says so; ``next``
    are the further advised coils in order, ``not_advised`` the rest.
    """

    step: str
    name: str
    where: str
    along: str
    measured: str
    relaxed: str
    relaxed_from: str
    mouths: str
    tip: str
    first: ChoiceRow | None
    first_words: str
    next: tuple[ChoiceRow, ...]
    not_advised: tuple[ChoiceRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ImplantRow:
    """One device left in the patient."""

    level: str
    device: str
    name: str
    lot: str
    serial: str
    udi: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseRow:
    """One running total against one ceiling; ``urgency`` is that of the rule's advisory."""

    what: str
    given: str
    ceiling: str
    left: str
    urgency: str
    rule: str
    footnotes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionRow:
    """One advisory with what justifies it; ``footnotes`` number the page's sources."""

    urgency: str
    text: str
    rule: str
    status: str
    signed_off: str
    inputs: str
    footnotes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """One source of the page, by its footnote number."""

    number: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CasePage:
    """Everything that is said about one case, in the order of the report.

    ``stops`` and ``cautions`` are open; ``noted`` is for information. ``dose_notes`` say what was
    given, item by item; ``limits`` which answer is followed where sources disagree, and what the
    site changed.
    """

    title: str
    draft: str
    hospital: str
    department: str
    operator: str
    procedure_date: str
    head: PageHead
    indication: str
    background: tuple[Line, ...]
    access: str
    technique: str
    runs: tuple[Line, ...]
    fronts: tuple[Line, ...]
    scale: str
    picture_caption: str
    straightened_caption: str
    veins: tuple[VeinRow, ...]
    notices: tuple[str, ...]
    levels: tuple[LevelRow, ...]
    no_levels: str
    order_rule: str
    between_levels: str
    implants: tuple[ImplantRow, ...]
    doses: tuple[DoseRow, ...]
    dose_notes: tuple[Line, ...]
    result: str
    haemostasis: str
    aftercare: tuple[str, ...]
    follow_up: tuple[str, ...]
    stops: tuple[CautionRow, ...]
    cautions: tuple[CautionRow, ...]
    noted: tuple[CautionRow, ...]
    sources: tuple[SourceRow, ...]
    assumptions: tuple[str, ...]
    missing: tuple[str, ...]
    limits: tuple[Line, ...]
    disclaimer: str
