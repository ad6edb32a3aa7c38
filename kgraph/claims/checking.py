"""Checks across files: references, cycles, contradictions, the written rules of the ontology.

Errors stop the ontology from loading; remarks (missing statements, thin herbs) are reported by `kgraph check` only.
"""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from dataclasses import replace

from kgraph.claims.draft import Draft
from kgraph.claims.model import Claim, Condition, ConstituentClass, Herb, Quality
from kgraph.claims.relations import LINKS, OF_HERB, Relation
from kgraph.claims.words import EFFECTS, INTENSITIES, LEVELS, REPORT_STATES, STRENGTHS
from kgraph.yamlio import Fault, FaultList, Place, did_you_mean

_TASTING = re.compile(r"\b(by (its )?tast(e|ing)|tastes?\b|chew)", re.I)
_NEVER = re.compile(r"\b(never|not|no)\b[^.;]{0,60}\btast|tast[a-z]*[^.;]{0,60}\b(never|not|no guide)\b", re.I)


def check(draft: Draft) -> list[Fault]:
    """Check a draft in place: resolve ids, number the claims. Returns remarks; errors go to ``draft.faults``."""
    _check_qualities(draft)
    _check_classes(draft)
    _expand_senses(draft)
    draft.claims = [claim for claim in draft.claims if _resolve(draft, claim)]
    _check_tables(draft)
    _check_contradictions(draft)
    _number(draft)
    remarks = FaultList(limit=2000)
    _remark_on_herbs(draft, remarks)
    _remark_on_things(draft, remarks)
    return remarks.faults


def _known(draft: Draft, kinds: tuple[str, ...]) -> set[str]:
    return {id for kind in kinds for id in draft.things[kind]}


def _check_qualities(draft: Draft) -> None:
    qualities = draft.things["quality"]
    for quality in qualities.values():
        assert isinstance(quality, Quality)
        place = draft.places[("quality", quality.id)]
        wants_parent = quality.kind in ("word", "kind")
        if wants_parent != bool(quality.of):
            draft.faults.add(place, "parent", f"the {quality.kind} `{quality.id}` {'needs' if wants_parent else 'has'} `of`.", "A word or kind names its parent, nothing else does.")
        if quality.of:
            parent = qualities.get(quality.of)
            if parent is None:
                draft.faults.add(place, "unknown-id", f"`of` names `{quality.of}`, which is no quality.", did_you_mean(quality.of, qualities))
            elif isinstance(parent, Quality):
                wanted = "percept" if quality.kind == "word" else "group"
                if parent.id == quality.id or _cycle(draft, quality):
                    draft.faults.add(place, "cycle", f"`{quality.id}` is, by `of`, a part of itself.", "Break the ring.")
                elif parent.kind != wanted:
                    draft.faults.add(place, "parent", f"`of` names `{parent.id}`, which is a {parent.kind}, not a {wanted}.", "A word is of a percept, a kind of a group.")
        for id in quality.absence_of:
            if id not in qualities:
                draft.faults.add(place, "unknown-id", f"`absence_of` names `{id}`, which is no quality.", did_you_mean(id, qualities))
        if (quality.kind == "absence") != bool(quality.absence_of):
            draft.faults.add(place, "absence", f"`{quality.id}`: an absence, and only an absence, names `absence_of`.", "List what is absent.")


def _cycle(draft: Draft, start: Quality) -> bool:
    seen: set[str] = set()
    here: object = start
    while isinstance(here, Quality) and here.of:
        if here.id in seen:
            return True
        seen.add(here.id)
        here = draft.things["quality"].get(here.of)
    return False


def _check_classes(draft: Draft) -> None:
    families = draft.things["family"]
    for id in draft.things["herb"]:
        if id in draft.things["class"] or id in families:
            draft.faults.add(draft.places[("herb", id)], "stated-twice", f"`{id}` is a constituent class too.", "Give the herb an id of its own.")
    for thing in draft.things["class"].values():
        if isinstance(thing, ConstituentClass):
            place = draft.places[("class", thing.id)]
            if thing.family and thing.family not in families:
                draft.faults.add(place, "unknown-id", f"the family `{thing.family}` is not known.", did_you_mean(thing.family, families))
            if not thing.family and thing.id in families and thing.id != thing.family:
                draft.faults.add(place, "stated-twice", f"`{thing.id}` is a family and a class outside it.", "Name the family in the class.")


def _expand_senses(draft: Draft) -> None:
    """A row of `dulls` that names a sense holds for every percept of that sense."""
    expanded: list[Claim] = []
    for claim in draft.claims:
        if not claim.object.startswith("sense:"):
            expanded.append(claim)
            continue
        sense = claim.object.removeprefix("sense:")
        found = [q.id for q in draft.things["quality"].values() if isinstance(q, Quality) and q.sense == sense and q.kind in ("percept", "group", "kind", "colour")]
        if not found:
            draft.faults.add(claim.place, "unknown-word", f"`sense` is `{sense}`, which has no qualities.", "Name a sense that qualities have.")
        expanded += [replace(claim, object=id) for id in found]
    draft.claims = expanded


def _relation(draft: Draft, claim: Claim) -> tuple[Relation, tuple[str, ...]]:
    """The relation of a claim and the kinds its subject may be of."""
    if claim.subject in draft.things["herb"] and claim.relation in OF_HERB:
        return OF_HERB[claim.relation], ("herb",)
    link = LINKS.get(claim.relation)
    if link is None:
        return OF_HERB[claim.relation], ("herb",)
    if claim.relation == "used_for":
        return link, ("action",)
    return link, link.subject[1]


def _resolve(draft: Draft, claim: Claim) -> bool:
    relation, kinds = _relation(draft, claim)
    good = True
    if claim.subject not in _known(draft, kinds):
        if claim.subject:
            draft.faults.add(claim.place, "unknown-id", f"`{claim.subject}` is no {' or '.join(kinds)} that is known.", did_you_mean(claim.subject, _known(draft, kinds)))
        good = False
    object_kinds = relation.object[1]
    named = claim.relation == "confused_with" and claim.object == ""
    if object_kinds and not named and claim.object not in _known(draft, object_kinds):
        draft.faults.add(claim.place, "unknown-id", f"`{claim.object}` is no {' or '.join(object_kinds)} that is known.", did_you_mean(claim.object, _known(draft, object_kinds)))
        good = False
    for attribution in claim.attributions:
        if attribution.source not in draft.sources:
            draft.faults.add(claim.place, "unknown-source", f"the source `{attribution.source}` is not known.", did_you_mean(attribution.source, draft.sources) or "Add it to a section `sources`.")
    for key, kind in (("implies_classes", "class"), ("implies_qualities", "quality")):
        for id in claim.facts.get(key, ()):  # type: ignore[union-attr]
            if id not in draft.things[kind]:
                draft.faults.add(claim.place, "unknown-id", f"`{id}` is no {kind} that is known.", did_you_mean(str(id), draft.things[kind]))
    quality = draft.things["quality"].get(claim.object) if "quality" in object_kinds else None
    if isinstance(quality, Quality):
        good = _check_quality_use(draft, claim, quality) and good
    return good


def _check_quality_use(draft: Draft, claim: Claim, quality: Quality) -> bool:
    if quality.kind in ("absence", "stop") and claim.relation in ("evokes", "fakes", "dulls"):
        draft.faults.add(claim.place, "no-percept", f"`{quality.id}` is {'an absence' if quality.kind == 'absence' else 'a stop sign'}, nothing can evoke or dull it.", "Name a percept.")
        return False
    if claim.relation == "described_as" and (quality.kind == "absence") == bool(claim.word):
        remedy = "Leave `intensity` out." if claim.word else "Add `intensity`."
        draft.faults.add(claim.place, "intensity", f"`{quality.id}` {'is an absence and has no intensity' if claim.word else 'needs an intensity'}.", remedy)
        return False
    return True


def _check_contradictions(draft: Draft) -> None:
    """Sources that disagree stay side by side; one source that says both is an error, and so is a row stated twice."""
    by_ends: dict[tuple[object, ...], list[Claim]] = defaultdict(list)
    for claim in draft.claims:
        relation, _ = _relation(draft, claim)
        if relation.graded:
            by_ends[(claim.relation, claim.subject, claim.object, claim.facts.get("stimulus", ""))].append(claim)
    for claims in by_ends.values():
        for i, later in enumerate(claims):
            for earlier in claims[:i]:
                if later.word == earlier.word and later.basis == earlier.basis:
                    draft.faults.add(later.place, "stated-twice", f"`{later.subject}` {later.relation} `{later.object}` stands already at {earlier.place}.", "Merge the two and keep all sources.")
                elif later.word != earlier.word and (same := sorted(set(later.source_ids) & set(earlier.source_ids))):
                    draft.faults.add(
                        later.place, "contradiction",
                        f"`{same[0]}` says here that `{later.subject}` {later.relation} `{later.object}` {later.word}, and {earlier.word} at {earlier.place}.",
                        "One source cannot say both: read it again and keep what it says.",
                    )
                elif later.word != earlier.word and not (later.attributions and earlier.attributions):
                    draft.faults.add(
                        later.place, "contradiction",
                        f"`{later.subject}` {later.relation} `{later.object}` is {later.word} here and {earlier.word} at {earlier.place}, and one of the two names no source.",
                        "Keep both only if each has a source.",
                    )


def _number(draft: Draft) -> None:
    """Give each claim its id: relation/subject/object, with a short hash where several share these."""
    groups: dict[str, list[int]] = defaultdict(list)
    for index, claim in enumerate(draft.claims):
        end = claim.object or str(claim.facts.get("name", ""))
        groups[f"{claim.relation}/{claim.subject}/{end}"].append(index)
    for base, indexes in groups.items():
        used: set[str] = set()
        for index in indexes:
            claim = draft.claims[index]
            id = base
            if len(indexes) > 1:
                text = repr((claim.word, claim.basis, claim.source_ids, sorted(claim.facts.items(), key=str)))
                id = f"{base}#{hashlib.sha256(text.encode()).hexdigest()[:8]}"
                while id in used:
                    id += "x"
            used.add(id)
            draft.claims[index] = replace(claim, id=id)


def _check_tables(draft: Draft) -> None:
    tables, faults = draft.tables, draft.faults
    place = Place("tables")
    for name, known, table in (("strength_words", STRENGTHS, tables.strengths), ("effect_words", EFFECTS, tables.effects), ("levels", LEVELS, tables.levels)):
        if missing := [word for word in known if word not in table]:
            faults.add(place, "missing-table", f"`{name}` lacks {', '.join(missing)}.", "Give every word its number.")
    values = [tables.strengths[word] for word in STRENGTHS if word in tables.strengths]
    if values != sorted(values, reverse=True):
        faults.add(place, "order", "the strength words do not fall from almost-always to almost-never.", "Check the numbers.")
    for channel in sorted({channel for channel, _ in tables.reports} | {"taster"}):
        if missing := [state for state in REPORT_STATES if (channel, state) not in tables.reports]:
            faults.add(place, "missing-table", f"the report table `{channel}` lacks {', '.join(missing)}.", "Give every state its two numbers.")
            continue
        ratio = {state: tables.reports[(channel, state)][0] / tables.reports[(channel, state)][1] for state in REPORT_STATES}
        if not ratio["absent"] <= ratio["unnoticed"] <= 1 <= ratio["weak"] <= ratio["moderate"] <= ratio["strong"]:
            faults.add(place, "order", f"in the report table `{channel}` the likelihood ratios must rise: absent, unnoticed, 1, weak, moderate, strong.", "Check the numbers.")
        for side in (0, 1):
            total = sum(tables.reports[(channel, state)][side] for state in REPORT_STATES[:4])
            if abs(total - 1) > 1e-6:
                faults.add(place, "sum", f"in the report table `{channel}` strong, moderate, weak and absent add up to {total:g}, not 1.", "Check the numbers.")
    for key in ("other-causes", "taster-correlation", "unnoticed-correlation"):
        if key not in tables.constants:
            faults.add(place, "missing-table", f"`constants` lacks `{key}`.", "Add it.")
        elif tables.constants[key] > (0.999 if key == "other-causes" else 1):
            faults.add(tables.places.get(("constants", key), place), "not-a-share", f"`{key}` is {tables.constants[key]:g}, which is no share.", "Give a number from 0 to 1; other causes are never certain.")
    if tables.constants.get("plain-other-causes", 0.0) > 1:
        faults.add(tables.places.get(("constants", "plain-other-causes"), place), "not-a-share", f"`plain-other-causes` is {tables.constants['plain-other-causes']:g}, which is no share.", "Give a number from 0 to 1.")
    for documented in INTENSITIES if tables.documented else ():
        if missing := [s for s in REPORT_STATES if (documented, s) not in tables.documented]:
            faults.add(place, "missing-table", f"`if_documented` lacks {documented}: {', '.join(missing)}.", "Give every state.")
    for id, factor in tables.false_reports.items():
        said = sum(tables.reports.get(("taster", state), (0, 0))[1] for state in REPORT_STATES[:3])
        if said * factor >= 0.5:
            faults.add(place, "order", f"`false_reports` makes a false report of `{id}` likelier than none.", "Check the factor.")
    for id, value in tables.book_silences.items():
        (denied, not_denied), (_, silent) = (tables.reports.get(("book", state), (0.0, 1.0)) for state in ("absent", "unnoticed"))
        if not denied / not_denied <= value / silent <= 1:
            faults.add(
                tables.places.get(("book_silences", id), place), "order",
                f"`book_silences` makes silence about `{id}` tell more than a denial, or speak for it.", "Check the value against `report_tables`.",
            )
    qualities, classes = draft.things["quality"], draft.things["class"]
    for id in (*tables.standard_list, *tables.other_causes, *tables.false_reports, *tables.book_silences):
        if id not in qualities:
            faults.add(place, "unknown-id", f"a table names `{id}`, which is no quality.", did_you_mean(id, qualities))
    for name, id in (*(("table of priors", id) for id in tables.prior_counts), *(("fitted table", id) for id, _ in tables.fitted)):
        if id not in classes:
            at = tables.places.get(("made", "priors" if name == "table of priors" else "fitted"), place)
            faults.add(at, "unknown-id", f"the {name} names `{id}`, which is no class.", did_you_mean(id, classes))
    for id in dict.fromkeys([*(quality for _, quality in tables.fitted), *tables.fitted_others]):
        if id not in qualities:
            faults.add(tables.places.get(("made", "fitted"), place), "unknown-id", f"the fitted table names `{id}`, which is no quality.", did_you_mean(id, qualities))
    for (kind, source), at in draft.places.items():
        if kind == "table-source" and source not in draft.sources:
            faults.add(at, "unknown-source", f"the source `{source}` is not known.", did_you_mean(source, draft.sources))
    _check_triggers(draft)


def _check_triggers(draft: Draft) -> None:
    if not draft.tables.evidence_words:
        draft.faults.add(Place("tables"), "missing-table", "`evidence_words` is missing.", "Name the words and their steps in decibans.")
    for condition in draft.things["condition"].values():
        if isinstance(condition, Condition) and not condition.values:
            draft.faults.add(draft.places[("condition", condition.id)], "trigger", f"the condition `{condition.id}` has no usable trigger.", "See `ontology/README.md`.")


def _remark_on_things(draft: Draft, remarks: FaultList) -> None:
    """Sources that nothing names, and words that two qualities share (plain words could mean either)."""
    named = {source for claim in draft.claims for source in claim.source_ids}
    named |= {id for kind, id in draft.places if kind == "table-source"}
    for id in draft.sources:
        if id not in named:
            remarks.add(draft.places[("source", id)], "unused-source", f"no statement names the source `{id}`.", "Remove it.")
    owners: dict[str, str] = {}
    for quality in draft.things["quality"].values():
        for name in dict.fromkeys(word.lower() for word in (quality.label, *quality.also)):
            if name in owners:
                remarks.add(draft.places[("quality", quality.id)], "shared-word", f"`{name}` is a word for `{quality.id}` and for `{owners[name]}`.", "Keep it for one.")
            owners[name] = quality.id


def _remark_on_herbs(draft: Draft, remarks: FaultList) -> None:
    by_herb: dict[str, list[Claim]] = defaultdict(list)
    for claim in draft.claims:
        by_herb[claim.subject].append(claim)
    herbs = draft.things["herb"]
    for herb in herbs.values():
        assert isinstance(herb, Herb)
        place, claims = draft.places[("herb", herb.id)], by_herb[herb.id]
        count = {name: sum(1 for c in claims if c.relation == name) for name in OF_HERB}
        if count["described_as"] < 2 and not herb.no_description:
            remarks.add(place, "thin-herb", f"`{herb.id}` has fewer than two described qualities.", "Add them, or say `no_description`.")
        if not count["contains"]:
            remarks.add(place, "thin-herb", f"`{herb.id}` has no constituent class.", "Add one.")
        if not count["warns_of"] and not herb.no_cautions:
            remarks.add(place, "thin-herb", f"`{herb.id}` has no caution.", "Add one, or say `no_cautions`.")
        cautions = {c.object for c in claims if c.relation == "warns_of"}
        if herb.taste_safety != "do-not-taste":
            for id in ("pregnancy", "lactation"):
                if id in draft.things["caution"] and id not in cautions:
                    remarks.add(place, "not-stated", f"`{herb.id}` says nothing of {id}.", "State it; \"no data\" is a statement too.")
        elif "do-not-taste" in draft.things["caution"] and "do-not-taste" not in cautions:
            draft.faults.add(place, "not-stated", f"`{herb.id}` is not to be tasted but carries no `do-not-taste` caution.", "Add it with severity avoid.")
        for claim in claims:
            if claim.relation == "confused_with":
                other = herbs.get(claim.object)
                poisonous = "do-not-taste" in (herb.taste_safety, getattr(other, "taste_safety", ""))
                how = claim.text("how")
                if poisonous and _TASTING.search(how) and not _NEVER.search(how):
                    draft.faults.add(claim.place, "told-apart-by-tasting", "one of the two is never to be tasted, yet `how` speaks of taste.", "Tell them apart by looking, a bench test or papers; or say that they are never to be tasted.")
