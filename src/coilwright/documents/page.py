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
    """One coil or plug at one level; ``place`` is "first choice" to "not advised".

    ``number`` says how many to have at hand, ``cost`` what these cost, or that no price is stated.
    """

    place: str
    advised: bool
    device: str
    name: str
    oversize: str
    undersized: str
    nest: str
    delivery: str
    shelf: str
    number: str
    cost: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRow:
    """One level to close, in the order of placement.

    ``first`` is null where nothing is advised first, and ``first_words`` then says so; ``next``
    are the further advised coils in order, ``not_advised`` the rest. ``why`` is what the level is
    for, empty where its name says it; ``if_relaxes`` what changes if the vein relaxes further.
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
    plugs: tuple[ChoiceRow, ...]
    why: str
    if_relaxes: tuple[str, ...]


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
class PullRow:
    """One device to lay out; ``against`` is empty where nothing speaks against it."""

    role: str
    needed: str
    name: str
    device: str
    purpose: str
    shelf: str
    expiry: str
    against: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PullPage:
    """The pull-list in words; ``missing`` is what the plan needs that is not there."""

    day: str
    rows: tuple[PullRow, ...]
    no_coils: tuple[str, ...]
    missing: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniqueLine:
    """One technique beside the others; ``against`` is empty where nothing speaks against it."""

    title: str
    chosen: bool
    closure: str
    rule: str
    migration: str
    residual: str
    volume: str
    implants: str
    cost: str
    compression: str
    published: str
    against: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniquesPage:
    """The techniques compared; ``note`` says what the comparison is not.

    ``pathways`` is what the levels leave open, or why that is not worked out; ``look_here`` where
    an unseen channel would matter most.
    """

    pathways: str
    rows: tuple[TechniqueLine, ...]
    note: str
    look_here: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteCard:
    """One way to the vein in words."""

    title: str
    lines: tuple[Line, ...]


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
    techniques: TechniquesPage
    routes: tuple[RouteCard, ...]
    stop_rules: tuple[Line, ...]
    pull_list: PullPage
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
