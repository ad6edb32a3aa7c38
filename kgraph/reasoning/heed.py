"""Cautions in their blocks: from the label, first and always; and from this tasting (DESIGN 4)."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from kgraph.claims import Claim, Ontology
from kgraph.reasoning.answer import Confusable, Emergency, Heed, Label
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.weights import decibans, firm
from kgraph.tasting import Sample

SEVERITY_ORDER = {"avoid": 0, "care": 1, "information": 2}
RISEN_DB, RISEN_BY = 2.0, 0.02
#: A poison that the findings lift this much, to at least this probability, is warned of on the first line.
POISON_DB, POISON_POSTERIOR = 5.0, 0.02
_SAFETY_ORDER = ("", "ok", "small-amount", "do-not-taste")
NEVER = ("do-not-taste", "avoid")


def _number(claim: Claim, key: str) -> float | None:
    value = claim.facts.get(key)
    return float(value) if isinstance(value, int | float) else None


def heed_of_label(ontology: Ontology, claim: Claim) -> Heed:
    """A caution of the labelled herb."""
    return Heed(
        claim.object, ontology.label("caution", claim.object), claim.word, "label", (), None, claim.text("detail"), (claim.id,),
        claim.text("preparation") or "any", _number(claim, "under_age"), _number(claim, "max_days"),
    )


def label_of(ontology: Ontology, herb: str, sealed: bool) -> tuple[Label, tuple[Heed, ...]]:
    """What the label says: taste safety, cautions by severity, and what the herb is confused with; sealed, only what must be heeded."""
    if not herb:
        return Label(), ()
    thing = ontology.herbs[herb]
    heeds = sorted(
        (heed_of_label(ontology, claim) for claim in ontology.said_of("warns_of", herb)),
        key=lambda h: (h.id != "do-not-taste", SEVERITY_ORDER[h.severity], h.label, h.claims),
    )
    if sealed:
        # nothing by which the name could be guessed: no claim ids, no details, no lookalikes
        blind = tuple(h._replace(detail="", claims=()) for h in heeds)
        return Label(taste_safety=thing.taste_safety, sealed=True), blind
    note = thing.taste_limit if thing.taste_safety == "small-amount" else thing.taste_reason
    return Label(herb, thing.name, thing.label, thing.part, thing.taste_safety, note, confusables(ontology, herb)), tuple(heeds)


def label_of_sample(ontology: Ontology, sample: Sample, sealed: bool) -> tuple[Label, tuple[Heed, ...]]:
    """What the label says of one herb, or of a blend: the strictest taste safety, and the cautions and doubles of all ingredients."""
    if not sample.herbs:
        return label_of(ontology, sample.herb, sealed)
    each = [label_of(ontology, herb, sealed) for herb in sample.herbs]
    labels = [label for label, _ in each]
    worst = max((label.taste_safety for label in labels), key=_SAFETY_ORDER.index)
    heeds = sorted(dict.fromkeys(h for _, found in each for h in found), key=lambda h: (h.id != "do-not-taste", SEVERITY_ORDER[h.severity], h.label, h.claims))
    if sealed:
        return Label(taste_safety=worst, sealed=True), tuple(heeds)
    notes = "; ".join(f"{label.label}: {label.taste_note}" for label in labels if label.taste_note and label.taste_safety == worst)
    confused = tuple(dict.fromkeys(c for label in labels for c in label.confused_with))
    names = [label.label for label in labels]
    text = f"a blend of {', '.join(names[:-1])} and {names[-1]}"
    return Label("", "; ".join(label.name for label in labels), text, "", worst, notes, tuple(sorted(confused, key=lambda c: (c.taste_safety != "do-not-taste", c.label, c.claims)))), tuple(heeds)


def confusables(ontology: Ontology, herb: str) -> tuple[Confusable, ...]:
    """What a herb is confused with, by what is said of it and by what is said of the others; those never to be tasted first."""

    def entry(claim: Claim, other: str) -> Confusable:
        label = ontology.label("herb", other) if other else claim.text("name")
        # what a source says of the other herb keeps its point of view: its "deadly" is meant for this one
        how = claim.text("how") if claim.subject == herb else f"told from the side of {label}: {claim.text('how')}"
        return Confusable(other, label, claim.word, how, ontology.herbs[other].taste_safety if other else "", (claim.id,))

    found = [entry(claim, claim.object) for claim in ontology.said_of("confused_with", herb)]
    named = {c.herb for c in found}
    found += [entry(claim, claim.subject) for claim in ontology.pointing_at("confused_with", herb) if claim.subject not in named]
    return tuple(sorted(found, key=lambda c: (c.taste_safety != "do-not-taste", c.label, c.claims)))


def emergencies_of(ontology: Ontology, inference: Inference) -> tuple[Emergency, ...]:
    """Classes never to be tasted that the findings lift by at least 5 dB, to at least 0.02; the likeliest first."""
    found = [
        Emergency(id, ontology.label("class", id), inference.net.prior[id], inference.posterior[id])
        for id in inference.net.carriers.get(NEVER, {})
        if inference.posterior[id] >= POISON_POSTERIOR and decibans(inference.net.prior[id], inference.posterior[id]) >= POISON_DB
    ]
    return tuple(sorted(found, key=lambda e: (-firm(e.posterior), e.id)))


def heed_of_tasting(ontology: Ontology, inference: Inference, shown_classes: Collection[str]) -> tuple[Heed, ...]:
    """Cautions that this tasting raises: carried by a class on a shown path, or by one risen by at least 2 dB and 0.02, or risen so itself.

    The probability is that of any class that carries the caution at this severity. A single poison that rises must
    not drown among twenty that did not, so each carrier is looked at by itself too.
    """
    carriers: Mapping[tuple[str, str], Mapping[str, tuple[str, ...]]] = inference.net.carriers
    keys = sorted(carriers)
    after = inference.posterior_any([dict.fromkeys(carriers[key], 1.0) for key in keys])[0]
    found: list[Heed] = []
    for key, posterior in zip(keys, after, strict=True):
        caution, severity = key
        classes = carriers[key]
        prior = inference.prior_any(dict.fromkeys(classes, 1.0))
        weight = decibans(prior, float(posterior))
        on_path = any(id in shown_classes for id in classes)
        risen = weight >= RISEN_DB and posterior - prior >= RISEN_BY
        rise = {id: inference.posterior[id] - inference.net.prior[id] for id in classes}
        alone = any(rise[id] >= RISEN_BY and decibans(inference.net.prior[id], inference.posterior[id]) >= RISEN_DB for id in classes)
        if not (on_path or risen or alone):
            continue
        # a class that hardly rose is no reason for the warning; the one that matters most stands first
        because = sorted(classes, key=lambda id: (id not in shown_classes, -firm(rise[id]), id))
        because = [id for id in because if id in shown_classes or rise[id] >= RISEN_BY] or because[:1]
        claims = tuple(claim for id in because for claim in classes[id])
        lead = ontology.claim(classes[because[0]][0])
        found.append(
            Heed(
                caution, ontology.label("caution", caution), severity, "tasting", tuple(because), float(posterior), lead.text("detail"), claims,
                lead.text("preparation") or "any", _number(lead, "under_age"), _number(lead, "max_days"),
            )
        )
    return tuple(sorted(found, key=lambda h: (SEVERITY_ORDER[h.severity], -firm(h.probability or 0.0), h.id)))
