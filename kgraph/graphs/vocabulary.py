"""The graph's own classes and properties: what each means, said in the graph itself."""

from __future__ import annotations

from kgraph.graphs.iris import OWL, PROV, RDF, RDFS, SKOS

#: Class to (label, comment, what it is a kind of).
CLASSES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "Claim": ("claim", "One statement with its subject, predicate, object, grading word, basis and sources. It is said, not proven.", (RDF + "Statement", PROV + "Entity")),
    "Quality": ("quality", "A quality of a sense, as a taster would name it.", (SKOS + "Concept",)),
    "Family": ("constituent family", "Classes of constituents that a taster cannot tell from each other.", (SKOS + "Concept",)),
    "ConstituentClass": ("constituent class", "A class of plant constituents.", (SKOS + "Concept",)),
    "Action": ("action", "What herbal practice calls an effect on the body; no promise that it works.", (SKOS + "Concept",)),
    "Use": ("use", "What a herb is or was used for; no advice.", (SKOS + "Concept",)),
    "Caution": ("caution", "Something to mind.", (SKOS + "Concept",)),
    "Condition": ("condition", "A circumstance of the preparation or of the taster that changes what is noticed.", (SKOS + "Concept",)),
    "Test": ("test", "A kitchen or bench test.", (SKOS + "Concept",)),
    "Herb": ("herb", "A plant and a part of it, as a drug.", (SKOS + "Concept",)),
    "Source": ("source", "A published text.", (PROV + "Entity",)),
    "Tasting": ("tasting", "One taster's report on one quality of one sample.", ("http://www.w3.org/ns/sosa/Observation",)),
}

#: Relation of claims to (property, label, comment).
RELATIONS: dict[str, tuple[str, str, str]] = {
    "evokes": ("evokes", "evokes", "The class, alone and ruling, makes the quality noticeable in a weak infusion as often as the strength says."),
    "acts_as": ("actsAs", "acts as", "By practice or by experiment the class or herb belongs with this action."),
    "warns_of": ("warnsOf", "warns of", "The class or herb carries this caution."),
    "contains": ("contains", "contains", "The herb holds the class at the level said."),
    "described_as": ("describedAs", "described as", "A published description gives the herb this quality."),
    "used_for": ("usedFor", "used for", "The action or herb is or was used so; status and country say on whose word."),
    "confused_with": ("confusedWith", "confused with", "The herb is taken for the other, or mixed with it."),
    "read_as": ("readAs", "read as", "A tradition's reading of the quality; never used in reasoning."),
    "shown_by": ("shownBy", "shown by", "The test shows the class, or is a test of the herb."),
    "assays": ("assays", "assays", "A pharmacopoeia or monograph sets a limit for this."),
    "fakes": ("fakes", "fakes", "The condition gives the quality without any constituent."),
    "dulls": ("dulls", "dulls", "The condition changes how well the quality is noticed."),
    "draws": ("draws", "draws", "The condition changes how much of the class passes into the cup."),
}
#: A description that denies a quality joins its ends by this property instead: the plain triple must be true.
LACKS = "describedWithout"

#: Property to (label, comment).
PROPERTIES: dict[str, tuple[str, str]] = {
    LACKS: ("described without", "A published description denies the herb this quality."),
    "strength": ("strength", "Strength word of an evokes or acts-as claim."),
    "hit": ("hit", "How regularly the test shows the class where it is there."),
    "level": ("level", "How much of the class the herb holds, in a word."),
    "intensity": ("intensity", "How strong the described quality is."),
    "severity": ("severity", "avoid: contra-indicated; care: not recommended, or only under supervision; else information."),
    "status": ("status", "On whose word a use stands."),
    "effect": ("effect", "What a condition does, in a word."),
    "kind": ("kind", "Kind of confusion or of thing."),
    "number": ("number", "The number that stands for a word in `tables/`, from 0 to 1 for strengths, a factor for effects and levels."),
    "basis": ("basis", "What an action is known from: tradition, laboratory, clinic, regulator."),
    "read": ("was read", "Was the supporting text read, and not only remembered?"),
    "readOn": ("read on", "The day on which the place in the source was read (a year where only that is known)."),
    "fromMemory": ("from memory", "The statement still has to be looked up."),
    "commonPractice": ("common practice", "A fact of the trade without a published source."),
    "where": ("where", "Place in the source: section, table, page."),
    "contradicts": ("contradicts", "The other claim grades the same two things differently; both stand."),
    "order": ("order", "Place of an attribution among those of its claim, from 1."),
    "grade": ("grade", "A: regulator, WHO, pharmacopoeia, standard, peer-reviewed; B: handbook, dispensatory, university."),
    "tasteSafety": ("taste safety", "ok, small-amount or do-not-taste."),
    "sense": ("sense", "The sense that a quality belongs to."),
    "family": ("in family", "The family of a constituent class."),
    "percept": ("word for", "The percept that a word stands for, or the group that a kind belongs to."),
}

#: Further properties are named after the field of the YAML file: a note, a threshold, a country, an age.
FURTHER = "A field of the statement or thing, as the folder of the ontology describes it."


def triples(term: object, known_fields: set[str]) -> list[tuple[str, str, str, str]]:
    """(subject, predicate, object, "iri" or language) for the vocabulary; `term` makes an IRI of a name."""
    name = term if callable(term) else str
    found: list[tuple[str, str, str, str]] = []
    for cls, (label, comment, above) in sorted(CLASSES.items()):
        found += [(name(cls), RDF + "type", OWL + "Class", "iri"), (name(cls), RDFS + "label", label, "en"), (name(cls), RDFS + "comment", comment, "en")]
        found += [(name(cls), RDFS + "subClassOf", iri, "iri") for iri in above]
    stated = {name_: (label, comment) for name_, label, comment in RELATIONS.values()} | PROPERTIES
    for further in sorted(known_fields - set(stated)):
        stated[further] = (further, FURTHER)
    for property_, (label, comment) in sorted(stated.items()):
        found += [
            (name(property_), RDF + "type", RDF + "Property", "iri"), (name(property_), RDFS + "label", label, "en"), (name(property_), RDFS + "comment", comment, "en"),
        ]
    return found
