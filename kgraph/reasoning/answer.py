"""The answer: one plain value that every output is drawn from, so that they cannot disagree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, NamedTuple

VERSION = 1

NOTICE = (
    "For learning only: no diagnosis, no advice to take anything. Tasting unknown plants can poison. "
    "Exact sums are not exact knowledge. The local pharmacopoeia, the law and a licensed practitioner decide."
)


def as_plain(value: Any) -> Any:
    """Named tuples as dictionaries, other tuples as lists, all the way down."""
    if hasattr(value, "_asdict"):
        return {key: as_plain(item) for key, item in value._asdict().items()}
    if isinstance(value, Mapping):
        return {key: as_plain(item) for key, item in value.items()}
    return [as_plain(item) for item in value] if isinstance(value, list | tuple) else value


class Path(NamedTuple):
    """Finding to class to action. ``probability``: P(class present and it gave this finding | reports), times the action's strength.

    Other causes may have given the same finding too, so paths overlap and do not add up.
    """

    quality: str
    cls: str
    action: str
    probability: float
    claims: tuple[str, ...]


class Against(NamedTuple):
    """A cell that lowers a candidate: its leave-one-out weight in decibans (negative)."""

    quality: str
    state: str
    weight_db: float


class Candidate(NamedTuple):
    """A family, class or action before and after the tasting.

    ``prior`` and ``posterior`` are P(present) for a class, P(any of its classes present) for a family, and the support
    of an action. ``weight_db`` is the weight of evidence, 10 log10 of odds after over odds before (Good 1950).
    ``standing``: risen, unchanged, fallen or unlikely.
    """

    id: str
    label: str
    prior: float
    posterior: float
    weight_db: float
    word: str
    standing: str
    paths: tuple[Path, ...] = ()
    against: tuple[Against, ...] = ()
    members: tuple[str, ...] = ()
    parted: bool = False
    documented: tuple[int, int] = (0, 0)


class Heed(NamedTuple):
    """A caution. ``origin`` is label or tasting; ``probability`` is None for the label's."""

    id: str
    label: str
    severity: str
    origin: str
    because: tuple[str, ...]
    probability: float | None
    detail: str
    claims: tuple[str, ...]
    preparation: str = "any"
    under_age: float | None = None
    max_days: float | None = None


class Emergency(NamedTuple):
    """A poison that the findings make much likelier: to be said before everything else."""

    id: str
    label: str
    prior: float
    posterior: float


class Confusable(NamedTuple):
    """A herb that the labelled one is mistaken for, or that is sold for it, and how to tell them apart."""

    herb: str
    label: str
    kind: str
    how: str
    taste_safety: str
    claims: tuple[str, ...]


class Label(NamedTuple):
    """What the label says; it never enters the inference."""

    herb: str = ""
    name: str = ""
    label: str = ""
    part: str = ""
    taste_safety: str = ""
    taste_note: str = ""
    confused_with: tuple[Confusable, ...] = ()
    sealed: bool = False


class UseLine(NamedTuple):
    """A use that hangs under an action; it says nothing about this sample."""

    action: str
    use: str
    label: str
    status: str
    detail: str
    claims: tuple[str, ...]


class Circumstance(NamedTuple):
    """A condition that held, and what it did. ``value``: strength of a fake, or factor of a dulling or drawing."""

    id: str
    label: str
    relation: str
    target: str
    target_label: str
    value: float
    claim: str
    explains: float | None = None


class Unexplained(NamedTuple):
    """A finding that, in all likelihood, no class here gave."""

    quality: str
    label: str
    probability: float
    faked: float


class Hidden(NamedTuple):
    """A poison that tasting cannot show: the most that any single strong finding lifts it, and a harmless double in taste."""

    id: str
    label: str
    best_db: float
    by: str
    poison: str
    poison_label: str
    harmless: str
    harmless_label: str
    shared: tuple[str, ...]


class Look(NamedTuple):
    """What to look for next: a quality or test, and how much it would tell about the families (bits)."""

    id: str
    label: str
    kind: str
    bits: float
    steps: str = ""


class Source(NamedTuple):
    """An ingredient that may give a note: its documented intensity ("" if nobody describes it), and the chance by its constituents."""

    herb: str
    label: str
    documented: str
    chance: float


class BlendNote(NamedTuple):
    """A note of a blend and the ingredients that account for it; none where nothing in it does."""

    quality: str
    label: str
    reported: str
    sources: tuple[Source, ...]


class Blend(NamedTuple):
    """Several herbs in one cup: (id, label, taste safety) of each, what accounts for each note, and what should be there and is not."""

    herbs: tuple[tuple[str, str, str], ...]
    notes: tuple[BlendNote, ...]
    missing: tuple[BlendNote, ...]


class Steady(NamedTuple):
    """How a candidate fares when every figure is moved by its doubt.

    ``among``: draws in which it stays among the first three; ``first``: in which it is the first. ``place_low`` to
    ``place_high`` and ``chance_low`` to ``chance_high`` are 5th to 95th percentile.
    """

    id: str
    label: str
    among: int
    first: int
    place_low: float
    place_high: float
    chance_low: float
    chance_high: float


class Hinge(NamedTuple):
    """A figure on which the first place hangs: its value, its value at the edge of its doubt that hurts most, the lead before and then (a chance; decibans between herbs), and who would stand first."""

    id: str
    label: str
    value: float | None
    edge: float | None
    lead: float
    lead_then: float
    instead: str


class Sensitivity(NamedTuple):
    """What becomes of the order when figures move: `draws` worlds from seed `seed`, the doubts times `spread`; `leader` is the first one, whose lead the hinges concern."""

    draws: int
    seed: int
    spread: float
    families: tuple[Steady, ...]
    actions: tuple[Steady, ...]
    leader: str
    leader_label: str
    hinges: tuple[Hinge, ...]
    herbs: tuple[Steady, ...] = ()


class Read(NamedTuple):
    """A cell as it was understood."""

    quality: str
    label: str
    state: str
    named: tuple[str, ...]
    tasters: int
    reporting: int
    there: float
    not_there: float


class Understood(NamedTuple):
    """What was read: the record or the plain words, and the cells they make."""

    file: str
    code: str
    tasted_on: str
    form: str
    tasters: tuple[str, ...]
    said: tuple[tuple[str, str], ...]
    cells: tuple[Read, ...]
    silent: tuple[Read, ...]
    tests: tuple[tuple[str, bool], ...]
    stop_signs: tuple[str, ...]
    impressions: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    swallowed: bool = False
    states: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything that is said about one tasting."""

    ontology: Mapping[str, str]
    understood: Understood
    label: Label
    families: tuple[Candidate, ...]
    classes: tuple[Candidate, ...]
    actions: tuple[Candidate, ...]
    uses: tuple[UseLine, ...]
    emergencies: tuple[Emergency, ...]
    label_cautions: tuple[Heed, ...]
    cautions: tuple[Heed, ...]
    conditions: tuple[Circumstance, ...]
    unexplained: tuple[Unexplained, ...]
    cannot_show: tuple[Hidden, ...]
    next: tuple[Look, ...]
    only_looking: str
    sensitivity: Sensitivity | None = None
    blend: Blend | None = None
    notice: str = NOTICE
    answer: int = VERSION
    strengths: Mapping[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain dictionaries and lists, keys as in the JSON output."""
        data = {f.name: as_plain(getattr(self, f.name)) for f in fields(self)}
        data = {"answer": data.pop("answer"), **data}
        for group in ("families", "classes", "actions"):
            for candidate in data[group]:
                for path in candidate["paths"]:
                    path["class"] = path.pop("cls")
                    path["action"] = path["action"] or None
        if not self.strengths:
            del data["strengths"]
        return data

    def risen(self, group: str) -> list[Candidate]:
        """The candidates of a group (families, classes or actions) that the tasting makes likelier, best first."""
        return [c for c in getattr(self, group) if c.standing == "risen"]
