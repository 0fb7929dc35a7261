"""The case file: what it says, and what is said of one that cannot be used."""

import datetime as dt
import re
from dataclasses import replace
from importlib import resources
from pathlib import Path
from uuid import UUID

import pytest

from coilwright.assessment import Onset, Sex
from coilwright.errors import CaseProblem, FileProblem
from coilwright.record import Case, UnreadableEntry, first_fault, fold_case, load_case, load_entries
from coilwright.units import QuantityKind
from coilwright.veins import Side

TODAY = dt.date(2026, 11, 25)
PATIENT = '[patient]\nid = "A1"\nname = "Invented, Ida"\n'


def case_file(folder: Path, text: str) -> Path:
    file = folder / "case.toml"
    file.write_text(text, encoding="utf-8")
    return file


def load(folder: Path, text: str) -> Case:
    return load_case(case_file(folder, PATIENT + text), TODAY)


def complaints(folder: Path, text: str) -> list[str]:
    with pytest.raises(CaseProblem, match=r"case\.toml: ") as caught:
        load_case(case_file(folder, text), TODAY)
    return str(caught.value).splitlines()


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    text = (resources.files("coilwright.demo") / "case.toml").read_text(encoding="utf-8")
    for name in ("run.dcm", "kit.toml"):
        (tmp_path / name).touch()
    return case_file(tmp_path, text)


def test_demo_case_is_read_as_it_is_written(demo: Path) -> None:
    # Every expected value is typed off the demo's case.toml.
    case = load_case(demo, TODAY)
    assert case.patient.sex is Sex.MALE
    assert case.patient.birth_date == dt.date(1994, 9, 3)
    assert (case.patient.weight_kg, case.patient.height_cm) == (78.0, 182.0)
    assert case.referral.sides == (Side.LEFT,)
    assert case.referral.grade_as_stated == "III"
    assert case.ultrasound[0].vein_upright_valsalva_mm == 4.2
    assert case.ultrasound[0].reflux_s == 3.5
    assert [s.concentration_million_per_ml for s in case.semen] == [9.0, 11.0]
    assert case.semen[0].abstinence_d == 3.0
    assert case.testes[0].left is not None
    assert case.testes[0].left.length_mm == 40.0
    assert case.bloods.creatinine is not None
    assert str(case.bloods.creatinine.value) == "82 umol/L"
    assert case.bloods.creatinine.date == dt.date(2026, 3, 2)
    assert case.conditions.onset is Onset.LONGSTANDING
    assert case.conditions.renal_vein.compression_signs is False
    assert case.access.sheath_fr == 5.0
    assert case.procedure.local_anaesthetic is not None
    assert case.procedure.local_anaesthetic.strength_mg_per_ml == 10.0
    assert case.kit_file == demo.parent / "kit.toml"
    assert case.hospital.name == "Wrenfield Infirmary"
    assert [implant.device for implant in case.implants] == ["lw-5-50", "lw-6-140", "lw-6-70"]
    assert [implant.level for implant in case.implants] == ["distal", "distal", "upper"]
    assert len(case.aftercare.follow_up) == 2


def test_demo_run_has_its_conditions_and_no_marks_yet(demo: Path) -> None:
    (run,) = load_case(demo, TODAY).runs
    assert run.file == demo.parent / "run.dcm"
    assert run.catheter_fr == 5.0
    assert run.side is Side.LEFT
    assert (run.conditions.volume_ml, run.conditions.rate_ml_per_s) == (6.0, 2.0)
    assert (run.conditions.valsalva, run.conditions.tilt_deg) == (True, 10.0)
    assert run.landmarks.ostium is None


def test_fold_adds_up_what_was_given(demo: Path) -> None:
    # By hand: 8 mL x 10 mg/mL = 80 mg; 42 mL x 300 mgI/mL = 12.6 g.
    given = load_case(demo, TODAY).given
    assert given.lidocaine_mg == 80.0
    assert given.contrast_ml == 42.0
    assert given.iodine_g == pytest.approx(12.6, rel=1e-12)
    assert given.radiation is not None
    assert given.radiation.kap_gy_cm2 == 21.4
    assert given.radiation.reference_air_kerma_gy == pytest.approx(0.096, rel=1e-12)
    assert given.radiation.fluoroscopy_min == pytest.approx(9.6, rel=1e-12)


def test_facts_are_as_of_the_day_of_the_procedure_or_else_of_today(
    demo: Path, tmp_path: Path
) -> None:
    assert load_case(demo, TODAY).facts(TODAY).on == dt.date(2026, 3, 12)
    assert load(tmp_path, "").facts(TODAY).on == TODAY


def test_smallest_case_is_valid_and_fills_nothing_in(tmp_path: Path) -> None:
    case = load(tmp_path, "")
    patient = case.patient
    assert (patient.birth_date, patient.sex, patient.weight_kg) == (None, None, None)
    assert case.referral.sides == ()
    assert case.medication.metformin is None
    assert case.conditions.acute_pain is None
    assert (case.runs, case.kit_file, case.implants) == ((), None, ())
    assert case.given.radiation is None


def test_network_marks_are_looked_for_beside_the_case_file(tmp_path: Path) -> None:
    (tmp_path / "marks.toml").touch()
    case = load(tmp_path, '[network_marks]\nfile = "marks.toml"\n')
    assert case.network_marks_file == tmp_path / "marks.toml"
    assert load(tmp_path, "").network_marks_file is None


def test_sex_recorded_as_unknown_is_not_a_sex(tmp_path: Path) -> None:
    assert load(tmp_path, 'sex = "unknown"\n').patient.sex is None


def test_units_that_clinicians_use_come_out_the_same(tmp_path: Path) -> None:
    # By hand: 172 lb x 0.45359237 = 78.018 kg; 5.5 cm = 55 mm; 2 % = 20 mg/mL.
    text = (
        'weight = "172 lb"\nheight = { value = 1.82, unit = "m" }\n'
        '[testes]\nleft = { length = "5.5 cm" }\n'
        '[[given.lidocaine]]\nstrength = "2 %"\nvolume = "5 cc"\nadrenaline = true\n'
        '[given.radiation]\nkap = "2140 cGy·cm²"\nfluoroscopy_time = "576 s"\n'
    )
    case = load(tmp_path, text)
    assert case.patient.weight_kg == pytest.approx(78.018, abs=0.001)
    assert case.patient.height_cm == pytest.approx(182.0, rel=1e-12)
    assert case.testes[0].left is not None
    assert case.testes[0].left.length_mm == 55.0
    assert case.given.lidocaine_mg == 100.0
    assert case.given.radiation is not None
    assert case.given.radiation.kap_gy_cm2 == pytest.approx(21.4, rel=1e-12)
    assert case.given.radiation.fluoroscopy_min == pytest.approx(9.6, rel=1e-12)


@pytest.mark.parametrize(
    "inr", ["1.1", '"1.1"', "{ value = 1.1 }", '{ value = "1.1", unit = "1" }']
)
def test_inr_has_no_unit_and_may_be_written_plainly(tmp_path: Path, inr: str) -> None:
    result = load(tmp_path, f"[bloods]\ninr = {inr}\n").bloods.inr
    assert result is not None
    assert result.value == 1.1


def test_date_beside_the_bloods_holds_for_results_without_their_own(tmp_path: Path) -> None:
    text = (
        "[bloods]\ndate = 2026-03-01\nplatelets = '240 10^9/L'\n"
        "creatinine = { value = 1.0, unit = 'mg/dL', date = '2026-02-01' }\ninr = 1.0\n"
    )
    bloods = load(tmp_path, text).bloods
    assert bloods.creatinine is not None
    assert bloods.platelets is not None
    assert bloods.inr is not None
    assert bloods.creatinine.date == dt.date(2026, 2, 1)
    assert bloods.creatinine.value.kind is QuantityKind.CREATININE
    assert (bloods.platelets.date, bloods.inr.date) == (dt.date(2026, 3, 1), dt.date(2026, 3, 1))


def test_marks_become_landmarks_with_their_uncertainty(tmp_path: Path) -> None:
    (tmp_path / "run.dcm").touch()
    text = (
        '[[runs]]\nfile = "run.dcm"\nmask_frames = [0, 1]\nmm_per_pixel = 0.25\n'
        "marks = { ostium_px = [250, 80.5], internal_ring_px = [300, 480], sd_mm = 3.0 }\n"
    )
    (run,) = load(tmp_path, text).runs
    assert run.landmarks.ostium is not None
    assert run.landmarks.ostium.point_px == (250.0, 80.5)
    assert run.landmarks.ostium.sd_mm == 3.0
    assert run.landmarks.internal_ring is not None
    assert run.landmarks.superior_ramus_edge is None
    assert (run.mask_frames, run.mm_per_pixel) == ((0, 1), 0.25)


# Every sentence names file, dotted key, what was found, and the mend.
SENTENCES = [
    (
        '[bloods]\ncreatinine = "90"\n',
        'bloods.creatinine: "90" has no unit; add its unit (umol/L, mg/dL, mg/L or mmol/L).',
    ),
    (
        "[bloods]\ncreatinine = 90\n",
        "bloods.creatinine: 90 has no unit; add its unit (umol/L, mg/dL, mg/L or mmol/L).",
    ),
    (
        '[bloods]\ncreatinine = "90 mmHg"\n',
        'bloods.creatinine: unit "mmHg" is not one for a creatinine; '
        "use umol/L, mg/dL, mg/L or mmol/L.",
    ),
    (
        '[bloods]\ncreatinine = "1 umol/L"\n',
        "bloods.creatinine: 1 umol/L is not possible; give a value from 10 to 3000 umol/L.",
    ),
    (
        "[bloods]\nplatelet = 3\n",
        "bloods.platelet: unknown key; perhaps platelets is meant.",
    ),
    (
        "[bloods]\ninr = { date = 2026-01-01 }\n",
        "bloods.inr.value: missing; add a number.",
    ),
    (
        "[bloods]\ninr = 'high'\n",
        'bloods.inr: "high" is not a plain number; give it without a unit.',
    ),
    (
        "[bloods]\ninr = { value = 1.0, unit = 's' }\n",
        "bloods.inr.unit: a ratio has no unit; leave the key out.",
    ),
    (
        "[bloods]\ndate = 2027-01-01\n",
        "bloods.date: the day lies in the future; check the year, month and day.",
    ),
    (
        'weight = "7000 kg"\n',
        "patient.weight: 7000 kg is not possible; give a value from 1 to 400 kg.",
    ),
    (
        "birth_date = 2027-01-01\n",
        "patient.birth_date: the day lies in the future; check the year, month and day.",
    ),
    (
        "birth_date = 1894-01-01\n",
        "patient.birth_date: more than 120 years ago; check the year, month and day.",
    ),
    (
        "weight = { value = 78, unit = 'kg', scale = 'old' }\n",
        "patient.weight.scale: unknown key; use one of value, unit.",
    ),
    (
        "[bloods]\ncreatinine = { value = 90, unit = 'umol/L', day = 2026-01-01 }\n",
        "bloods.creatinine.day: unknown key; use one of value, unit, date.",
    ),
    (
        f"weight = {{ value = {'9' * 400}, unit = 'kg' }}\n",
        "patient.weight: the value is not finite; give a number.",
    ),
    (
        'birth_date = "3 May"\n',
        "patient.birth_date: not a day; write year-month-day, such as 2025-01-31.",
    ),
    (
        'sex = "m"\n',
        'patient.sex: "m" is not possible; write "male" or "female" or "unknown".',
    ),
    (
        'surname = "x"\n',
        "patient.surname: unknown key; perhaps name is meant.",
    ),
    (
        '[referral]\nside = "middle"\n',
        'referral.side: "middle" is not possible; write "left" or "right" or "both".',
    ),
    (
        "[referral]\nreasons = [1]\n",
        'referral.reasons: not a list of texts; write it as ["...", "..."].',
    ),
    (
        "[referral]\ngrade_as_stated = 3\n",
        "referral.grade_as_stated: not a text; give it in quotation marks, or leave the key out.",
    ),
    (
        '[medication]\nmetformin = "no"\n',
        "medication.metformin: neither true nor false; write true or false, or leave the key out.",
    ),
    (
        "referal = 1\n",
        "patient.referal: unknown key; use one of birth_date, height, id, name, sex, weight.",
    ),
    (
        "[referal]\nside = 'left'\n",
        "referal: unknown key; perhaps referral is meant.",
    ),
    (
        '[[runs]]\nfile = "none.dcm"\n',
        'runs[0].file: "none.dcm" does not exist beside the case file; '
        "check that the run was exported there, or mend the name.",
    ),
    (
        "[[runs]]\ncatheter_fr = 5\n",
        "runs[0].file: missing; add a text.",
    ),
    (
        '[network_marks]\nfile = "none.toml"\n',
        'network_marks.file: "none.toml" does not exist beside the case file; '
        "check that the file of network marks is there, or mend the name.",
    ),
    (
        '[kit]\nfile = "none.toml"\n',
        'kit.file: "none.toml" does not exist beside the case file; '
        "check that the kit file is there, or mend the name.",
    ),
    (
        "[[given.lidocaine]]\nvolume = '8 mL'\nadrenaline = false\n",
        "given.lidocaine[0].strength: missing; add the strength with its unit (mg/mL, %, g/L).",
    ),
    (
        "[[given.lidocaine]]\nstrength = '1 %'\nvolume = '8 mL'\n",
        "given.lidocaine[0].adrenaline: missing; add true or false.",
    ),
    (
        "[[given.sclerosant]]\ndrug = 'foam'\nstrength = '3 %'\nvolume = '2 mL'\n",
        'given.sclerosant[0].drug: "foam" is not possible; '
        'write "sodium-tetradecyl-sulfate" or "polidocanol".',
    ),
    (
        "[given.radiation]\nkap = 21.4\n",
        "given.radiation.kap: 21.4 has no unit; "
        "add its unit (Gy.cm2, Gy.m2, dGy.cm2, cGy.cm2, mGy.cm2 or uGy.m2).",
    ),
    (
        "[[given.implants]]\nlevel = 'distal'\n",
        "given.implants[0].device: missing; add a text.",
    ),
    (
        "[[semen]]\ntotal_motility = '30 %'\nprogressive_motility = '40 %'\n",
        "semen[0].progressive_motility: greater than total_motility; check which is which.",
    ),
    (
        "[conditions]\nrenal_vein = 3\n",
        "conditions.renal_vein: not a table; write it as [conditions.renal_vein] with keys below.",
    ),
    (
        "[given]\nlidocaine = 3\n",
        "given.lidocaine: not a list of tables; write it as [[given.lidocaine]].",
    ),
]


@pytest.mark.parametrize(("text", "sentence"), SENTENCES)
def test_value_that_cannot_be_used_gets_one_sentence(
    tmp_path: Path, text: str, sentence: str
) -> None:
    assert complaints(tmp_path, PATIENT + text) == [f"case.toml: {sentence}"]


@pytest.mark.parametrize(
    ("run", "sentence"),
    [
        ("marks = { ostium_px = [1, 2] }", "runs[0].marks.sd_mm: missing; add how sure the marks"),
        (
            "marks = { ostium_px = [1], sd_mm = 3 }",
            "runs[0].marks.ostium_px: not a point; write [x, y] in pixels of the raw frame.",
        ),
        ("mask_frames = [0.5]", "runs[0].mask_frames: not a list of whole numbers; write frames"),
        (
            "catheter_fr = 50",
            'runs[0].catheter_fr: "50" is not possible; give a number from 1.5 to 12.',
        ),
        (
            "catheter_lumen_mm = 0.97",
            "runs[0].catheter_lumen_mm: catheter_fr is missing; give both.",
        ),
        (
            "catheter_fr = 4\ncatheter_lumen_mm = 1.3",
            "runs[0].catheter_lumen_mm: 1.3 mm leaves no wall in 4 F; give the inner diameter",
        ),
        (
            "conditions = { volume = 6 }",
            "runs[0].conditions.volume: 6 has no unit; add its unit (mL, L or uL).",
        ),
    ],
)
def test_run_that_cannot_be_used_gets_one_sentence(tmp_path: Path, run: str, sentence: str) -> None:
    (tmp_path / "run.dcm").touch()
    (said,) = complaints(tmp_path, f'{PATIENT}[[runs]]\nfile = "run.dcm"\n{run}\n')
    assert said.startswith(f"case.toml: {sentence}")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "case.toml: patient: missing; add a table [patient] with id and name."),
        ("[patient]\nname = 'x'\n", "case.toml: patient.id: missing; add a text."),
        ("[patient]\nid = 'x'\n", "case.toml: patient.name: missing; add a text."),
        (
            f'format = "coilwright.plan"\n{PATIENT}',
            'case.toml: format: not a case file; write "coilwright.case".',
        ),
        (
            f"version = 2\n{PATIENT}",
            "case.toml: version: a version that is not known here; write 1.",
        ),
    ],
)
def test_what_must_be_there_is_asked_for(tmp_path: Path, text: str, sentence: str) -> None:
    assert complaints(tmp_path, text) == [sentence]


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    text = (
        '[patient]\nid = "A1"\nname = "x"\nweight = "7000 kg"\nbirth_date = 2027-01-01\n'
        '[bloods]\ncreatinine = "90"\n[referral]\nside = "up"\n'
    )
    keys = [line.split(": ")[1] for line in complaints(tmp_path, text)]
    assert keys == ["patient.birth_date", "patient.weight", "referral.side", "bloods.creatinine"]


def test_complaints_do_not_show_who_the_patient_is(tmp_path: Path) -> None:
    text = '[patient]\nid = "SECRET-1"\nname = "Secret, Sam"\nbirth_date = 2099-12-31\nx = "Sam"\n'
    said = "\n".join(complaints(tmp_path, text))
    assert not re.search("secret|sam|2099", said, flags=re.IGNORECASE)


def test_broken_toml_names_its_line(tmp_path: Path) -> None:
    sentence = r"case\.toml: line 4, column 10: not valid TOML \(invalid value\); mend the line\."
    with pytest.raises(FileProblem, match=sentence):
        load(tmp_path, "weight = kg\n")


@pytest.mark.parametrize("value", ["9" * 5000, "[" * 5000])
def test_toml_that_python_cannot_hold_is_said_plainly(tmp_path: Path, value: str) -> None:
    with pytest.raises(FileProblem, match=r"case\.toml: file: not valid TOML; shorten the number"):
        load(tmp_path, f"weight = {value}\n")


def test_case_file_that_does_not_exist_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"none\.toml: file: no such file or directory"):
        load_case(tmp_path / "none.toml", TODAY)


def test_case_file_in_another_encoding_is_said_plainly(tmp_path: Path) -> None:
    (tmp_path / "case.toml").write_bytes(b'[patient]\nname = "\xe9"\n')
    with pytest.raises(FileProblem, match=r"case\.toml: file: not UTF-8 text; save it as UTF-8"):
        load_case(tmp_path / "case.toml", TODAY)


def test_reading_twice_gives_the_same_chain(demo: Path) -> None:
    first, second = load_entries(demo, TODAY), load_entries(demo, TODAY)
    assert first == second
    assert first_fault(first) is None
    assert len({entry.id for entry in first}) == len(first)


def test_chain_does_not_depend_on_where_the_folder_lies(demo: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    for name in ("case.toml", "run.dcm", "kit.toml"):
        (elsewhere / name).write_bytes((demo.parent / name).read_bytes())
    assert load_entries(elsewhere / "case.toml", TODAY) == load_entries(demo, TODAY)


def test_stream_does_not_show_who_the_patient_is(demo: Path) -> None:
    case = load_case(demo, TODAY)
    assert case.patient.id not in case.id
    assert re.fullmatch(r"case-[0-9a-f-]{36}", case.id)


def test_entries_are_named_in_the_past_tense_and_happened_when_the_file_says(demo: Path) -> None:
    entries = {entry.kind: entry for entry in load_entries(demo, TODAY)}
    assert entries["referral_received"].at == dt.datetime(2026, 1, 14, tzinfo=dt.UTC)
    assert entries["patient_registered"].at == dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    assert {"coil_placed", "lidocaine_given", "time_out_held", "run_received"} <= entries.keys()


def test_altered_case_entry_shows_in_the_chain(demo: Path) -> None:
    entries = list(load_entries(demo, TODAY))
    place = next(i for i, entry in enumerate(entries) if entry.kind == "lidocaine_given")
    payload = {**entries[place].payload, "volume_ml": 80.0}
    entries[place] = type(entries[place])(
        **{name: getattr(entries[place], name) for name in entries[place].__slots__}
        | {"payload": payload}
    )
    fault = first_fault(entries)
    assert fault is not None
    assert fault.seq == place


def test_later_entry_of_a_kind_takes_the_earlier_ones_place_and_doses_add_up(demo: Path) -> None:
    entries = load_entries(demo, TODAY)
    doses = [entry for entry in entries if entry.kind == "lidocaine_given"]
    # By hand: 80 mg twice over.
    again = [replace(dose, id=UUID(int=place)) for place, dose in enumerate(doses)]
    assert fold_case([*entries, *again]).given.lidocaine_mg == 160.0
    assert len(fold_case([*entries, entries[0]]).runs) == 1


def test_an_entry_that_was_sent_twice_counts_once(demo: Path) -> None:
    # By hand: 8 mL of 1 %.
    entries = load_entries(demo, TODAY)
    assert fold_case([*entries, *entries]).given.lidocaine_mg == 80.0


def test_fold_refuses_what_is_no_case(demo: Path) -> None:
    entries = load_entries(demo, TODAY)
    with pytest.raises(UnreadableEntry, match="needs its patient first"):
        fold_case(())
    with pytest.raises(UnreadableEntry, match="needs its patient first"):
        fold_case(entries[1:])


CONTRADICTORY = [
    (
        "birth_date = 2026-05-02\n[procedure]\ndate = 2026-05-01\n",
        ["case.toml: procedure.date: the day lies before patient.birth_date; check both days."],
    ),
    (
        "birth_date = 1990-05-02\n[procedure]\ndate = 2206-05-01\n",
        [
            "case.toml: procedure.date: more than 120 years after patient.birth_date; "
            "check both days."
        ],
    ),
    # A detail whose question nobody has answered must not be passed over.
    (
        '[medication]\npde5_drug = "tadalafil"\n',
        ["case.toml: medication.pde5_drug: stated without pde5_inhibitor; add pde5_inhibitor."],
    ),
    (
        '[allergies]\ncontrast_reaction = "severe"\n',
        ["case.toml: allergies.contrast_reaction: stated without contrast; add contrast."],
    ),
    (
        '[allergies]\ncontrast = false\ncontrast_reaction_onset = "acute"\n',
        [
            "case.toml: allergies.contrast_reaction_onset: stated although contrast is false; "
            "check contrast."
        ],
    ),
    (
        '[semen]\nconcentration = "0 /mL"\ntotal_motility = "40 %"\nnormal_forms = "0 %"\n',
        [
            "case.toml: semen[0].total_motility: above zero although the concentration is zero; "
            "check concentration."
        ],
    ),
]


@pytest.mark.parametrize(("text", "sentences"), CONTRADICTORY)
def test_answers_that_cannot_stand_together_are_named(
    tmp_path: Path, text: str, sentences: list[str]
) -> None:
    assert complaints(tmp_path, PATIENT + text) == sentences


def test_patient_may_be_born_on_the_day_of_the_procedure(tmp_path: Path) -> None:
    case = load(tmp_path, "birth_date = 2026-05-01\n[procedure]\ndate = 2026-05-01\n")
    assert case.patient.birth_date == case.procedure.date


@pytest.mark.parametrize("at", ["9:50", "after lunch", "Invented, Ida", "2026-11-25"])
def test_time_in_words_is_refused_and_not_repeated(tmp_path: Path, at: str) -> None:
    text = f'{PATIENT}[given.observations]\nat = "{at}"\n'
    assert complaints(tmp_path, text) == [
        "case.toml: given.observations[0].at: not a time; write a time such as 10:42:00."
    ]


@pytest.mark.parametrize("at", ['"10:42"', "10:42:00", '" 10:42:00 "'])
def test_times_are_kept_in_one_form(tmp_path: Path, at: str) -> None:
    # ISO 8601: hours and minutes alone are the full minute.
    case = load(tmp_path, f"[given.observations]\nat = {at}\n")
    assert case.given.observations[0].at == "10:42:00"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("weight = 0x" + "f" * 5000, "patient.weight: the value is not finite; give a number."),
        (
            "[bloods]\ninr = 0x" + "f" * 5000,
            'bloods.inr: "thousands of digits" is not possible; give a number from 0.5',
        ),
        (
            "weight = 1" + "0" * 200,
            "patient.weight: 100000000000000000000000... has no unit; add its unit (kg, g or lb).",
        ),
        ('"a\\nb" = 1', "patient.a b: unknown key; use one of birth_date, height, id, name, sex"),
        ('[bloods]\ninr = "1_0"', 'bloods.inr: "1_0" is not a plain number; give it without'),
    ],
)
def test_monstrous_value_or_key_still_gets_one_short_line(
    tmp_path: Path, text: str, sentence: str
) -> None:
    (said,) = complaints(tmp_path, f"{PATIENT}{text}\n")
    assert said.startswith(f"case.toml: {sentence}")
    assert len(said) < 160


def test_version_that_is_true_is_not_version_1(tmp_path: Path) -> None:
    assert complaints(tmp_path, f"version = true\n{PATIENT}") == [
        "case.toml: version: a version that is not known here; write 1."
    ]
