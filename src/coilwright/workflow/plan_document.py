"""plan.json: the plan with what it was made for, and the sums that show a change.

The sums find files that were mixed up or edited; they are no signature.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from coilwright.errors import FileProblem, Problem
from coilwright.planning import OcclusionPlan, plan_from_json, plan_to_json
from coilwright.protocol import Choice, Limit, Protocol
from coilwright.record import Case, canonical_json
from coilwright.record.case_fold import payload_of
from coilwright.veins import Side
from coilwright.workflow.planned_case import PlannedCase

BASIS, SUM = "made_for", "sha256"
AGAIN = "run coilwright plan again"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsInForce:
    """Every limit and choice that the plan was made with."""

    name: str
    version: str
    limits: dict[str, Limit]
    choices: dict[str, Choice]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanBasis:
    """What a plan was made for.

    ``runs`` are SOP Instance UIDs; ``stated_runs`` is the sum over what the case states of its
    runs (scale, marks, side, conditions); ``files`` the sums of the files written beside the plan.
    """

    case: str
    runs: tuple[str, ...]
    stated_runs: str
    files: dict[str, str]
    assessed: int
    protocol: LimitsInForce
    side: Side | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDocument:
    """plan.json as read back."""

    plan: OcclusionPlan
    basis: PlanBasis

    @property
    def protocol(self) -> Protocol:
        """The limits that the plan was made with."""
        held = self.basis.protocol
        return Protocol(
            name=held.name, version=held.version, limits=held.limits, choices=held.choices
        )


_BASIS = TypeAdapter(PlanBasis)


def sum_of(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def sum_of_stated_runs(case: Case) -> str:
    """One sum over what the case states of its runs, whatever folder they lie in."""
    stated = [payload_of(run) | {"file": run.file.name} for run in case.runs]
    return sum_of(canonical_json(stated).encode())


def write_plan_document(planned: PlannedCase, files: Mapping[str, bytes]) -> bytes:
    """plan.json, naming the sums of the ``files`` that are written beside it."""
    protocol, vein_map = planned.protocol, planned.vein_map
    basis = PlanBasis(
        case=planned.case.id,
        runs=tuple(run.sop_instance_uid for run in vein_map.runs) if vein_map else (),
        stated_runs=sum_of_stated_runs(planned.case),
        files={name: sum_of(content) for name, content in files.items()},
        assessed=planned.assessed,
        side=planned.side,
        protocol=LimitsInForce(
            name=protocol.name,
            version=protocol.version,
            limits=dict(protocol.limits),
            choices=dict(protocol.choices),
        ),
    )
    document: dict[str, Any] = json.loads(plan_to_json(planned.plan))
    document[BASIS] = _BASIS.dump_python(basis, mode="json")
    document[SUM] = _sum_of_document(document)
    return (json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n").encode()


def read_plan_document(text: str, file: Path) -> PlanDocument:
    """plan.json read back; ``file`` is only named in errors.

    Raises
    ------
    FileProblem
        Not a plan, not one with its basis, or changed since it was written.
    """
    plan = plan_from_json(text, file)
    document = json.loads(text)
    stated = document.pop(SUM, None)
    if BASIS not in document or stated is None:
        raise _problem(file, BASIS, "the plan does not say what it was made for")
    if stated != _sum_of_document(document):
        raise _problem(file, SUM, "the plan was changed after it was written")
    try:
        basis = _BASIS.validate_python(document[BASIS])
    except ValidationError as error:
        where = ".".join(str(part) for part in error.errors()[0]["loc"])
        raise _problem(file, f"{BASIS}.{where}", "cannot be read") from error
    return PlanDocument(plan=plan, basis=basis)


def _sum_of_document(document: dict[str, Any]) -> str:
    return sum_of(canonical_json(document).encode())


def _problem(file: Path, field: str, found: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=AGAIN))
