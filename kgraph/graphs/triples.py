"""An ontology as RDF triples, in an order that only knowledge can change. No blank nodes, no dates of export.

Every part of the graph is a list of triples under a name: dataset, terms, words, sources, things, claims, statements
(the plain triples that the claims say), mappings. N-Quads keep the parts as named graphs, the other formats unite them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields
from decimal import Decimal
from pathlib import PurePath

from pyoxigraph import Literal, NamedNode, Triple

from kgraph.claims import Ontology
from kgraph.claims.model import KINDS, Attribution, Claim, Herb, Quality, Source, Thing
from kgraph.claims.relations import LINKS, OF_HERB
from kgraph.graphs import vocabulary
from kgraph.graphs.iris import BIBO, DCAT, DCTERMS, OWL, PROV, RDF, RDFS, SKOS, VOID, XSD, Names
from kgraph.graphs.mappings import mapping_triples

CLASS_OF = {
    "quality": "Quality", "family": "Family", "class": "ConstituentClass", "action": "Action", "use": "Use", "caution": "Caution",
    "condition": "Condition", "test": "Test", "herb": "Herb",
}
#: A constituent class and its family are one tree, so they share a scheme.
SCHEME_OF = {kind: "constituent" if kind in ("class", "family") else kind for kind in KINDS}
#: Key of the grading word to the scheme of its words.
SCHEME_OF_WORD = {"strength": "strength", "hit": "strength", "false_positive": "strength", "kind": "confusion"}
LICENCES = {"CC-BY-4.0": "https://creativecommons.org/licenses/by/4.0/", "CC0-1.0": "https://creativecommons.org/publicdomain/zero/1.0/"}
_YEAR, _DAY = re.compile(r"\d{4}\Z"), re.compile(r"\d{4}-\d\d-\d\d\Z")
_URL = re.compile(r"https?://[^\s<>\"{}|\\^`]+\Z")
_TYPE = NamedNode(RDF + "type")


def camel(key: str) -> str:
    """A field name as the name of a property.

    >>> camel("max_days")
    'maxDays'
    """
    head, *rest = key.split("_")
    return head + "".join(part.capitalize() for part in rest)


def uncamel(name: str) -> str:
    """The field name behind a property: the inverse of :func:`camel`."""
    return re.sub(r"[A-Z]", lambda found: "_" + found[0].lower(), name)


def word_key(claim: Claim, of_herb: bool) -> str:
    """The key under which a claim's grading word stands: strength, level, severity ...; "" where its relation has none."""
    relation = (OF_HERB if of_herb else LINKS).get(claim.relation)
    return relation.word[0] if relation else ""


def when(text: str) -> Literal:
    """A day or a year as such, anything else as text."""
    kind = "date" if _DAY.match(text) else "gYear" if _YEAR.match(text) else "string"
    return Literal(text, datatype=NamedNode(XSD + kind))


def number(value: float) -> Literal:
    """A number as a decimal or an integer, never in floating notation."""
    if isinstance(value, int):
        return Literal(str(value), datatype=NamedNode(XSD + "integer"))
    text = format(Decimal(repr(float(value))), "f")
    return Literal(text if "." in text else text + ".0", datatype=NamedNode(XSD + "decimal"))


def truth(value: bool) -> Literal:
    return Literal("true" if value else "false", datatype=NamedNode(XSD + "boolean"))


def _together(triples: list[Triple]) -> list[Triple]:
    """What is said of one subject stands together, subjects in the order in which they first come."""
    by: dict[str, list[Triple]] = {}
    for triple in triples:
        by.setdefault(triple.subject.value, []).append(triple)  # type: ignore[union-attr]
    return [triple for group in by.values() for triple in group]


class TripleMaker:
    """Makes the parts of one ontology's graph."""

    def __init__(self, ontology: Ontology, names: Names | None = None) -> None:
        self.ontology = ontology
        self.names = names or Names()
        self._known: dict[str, NamedNode] = {}
        self.fields: set[str] = {"herbsCounted"}
        self._words: set[tuple[str, str]] = set()

    def parts(self, tastings: Sequence[Triple] = ()) -> dict[str, list[Triple]]:
        """Part to its triples, `tastings` as one of them. The order of parts and of triples is always the same."""
        claims, statements = self._claims()
        found = {"things": self._things(), "claims": claims, "statements": statements, "sources": self._sources(),
                 "mappings": list(mapping_triples(self.ontology, self.names))}
        if tastings:
            found["tastings"] = list(dict.fromkeys(tastings))
            self.fields |= {term for t in tastings if (term := t.predicate.value).startswith(self.names.term(""))}
        self.fields = {field.removeprefix(self.names.term("")) for field in self.fields}
        found = {"terms": self._terms(), "words": self._words_used(), **found}
        found = {"dataset": self._dataset(sum(len(part) for part in found.values())), **found}
        return {name: _together(part) for name, part in found.items()}

    # -- helpers -----------------------------------------------------------------------------------------------

    def node(self, iri: str) -> NamedNode:
        """One node object an IRI: making them is most of the work."""
        found = self._known.get(iri)
        if found is None:
            found = self._known[iri] = NamedNode(iri)
        return found

    def term(self, name: str) -> NamedNode:
        return self.node(self.names.term(name))

    def thing(self, kind: str, id: str) -> NamedNode:
        return self.node(self.names.thing(kind, id))

    def word(self, scheme: str, word: str) -> NamedNode:
        self._words.add((scheme, word))
        return self.node(self.names.word(scheme, word))

    def _field(self, key: str) -> NamedNode:
        name = camel(key)
        self.fields.add(name)
        return self.term(name)

    def kind_of(self, id: str, allowed: tuple[str, ...]) -> str:
        """Which of the allowed kinds of thing has this id; "" for none: the id is then text."""
        return next((kind for kind in allowed if id in self.ontology.things[kind]), "")

    # -- things ------------------------------------------------------------------------------------------------

    def _things(self) -> list[Triple]:
        found: list[Triple] = []
        for scheme in sorted(set(SCHEME_OF.values())):
            iri = self.node(self.names.scheme(scheme))
            found += [
                Triple(iri, _TYPE, self.node(SKOS + "ConceptScheme")), Triple(iri, self.node(SKOS + "prefLabel"), Literal(scheme, language="en")),
                Triple(iri, self.node(DCTERMS + "isPartOf"), self.node(self.names.of("dataset"))),
            ]
        for kind in KINDS:
            for id, thing in self.ontology.things[kind].items():
                found += self._thing(kind, id, thing)
        return found

    def _thing(self, kind: str, id: str, thing: Thing) -> Iterator[Triple]:
        subject, scheme = self.thing(kind, id), self.node(self.names.scheme(SCHEME_OF[kind]))
        yield Triple(subject, _TYPE, self.node(SKOS + "Concept"))
        yield Triple(subject, _TYPE, self.term(CLASS_OF[kind]))
        yield Triple(subject, self.node(SKOS + "inScheme"), scheme)
        yield Triple(subject, self.node(SKOS + "prefLabel"), Literal(thing.label, language="en"))
        also = [(text, "en") for text in thing.also]
        if isinstance(thing, Herb):
            also = [(text, "en") for text in (*thing.common_names, *thing.also)] + [(text, "la") for text in (thing.name, *thing.synonyms) if text]
        for text, language in dict.fromkeys(also):
            if (text, language) != (thing.label, "en"):
                yield Triple(subject, self.node(SKOS + "altLabel"), Literal(text, language=language))
        if thing.definition:
            yield Triple(subject, self.node(SKOS + "definition"), Literal(thing.definition, language="en"))
        yield Triple(subject, self.node(SKOS + "notation"), Literal(id))
        above = self._above(kind, thing)
        if above is None:
            yield Triple(subject, self.node(SKOS + "topConceptOf"), scheme)
            yield Triple(scheme, self.node(SKOS + "hasTopConcept"), subject)
        else:
            yield Triple(subject, self.node(SKOS + "broader"), above)
            yield Triple(above, self.node(SKOS + "narrower"), subject)
        yield from self._own_fields(kind, subject, thing)

    def _above(self, kind: str, thing: Thing) -> NamedNode | None:
        if kind == "quality" and isinstance(thing, Quality) and thing.kind in ("word", "kind") and thing.of:
            return self.thing("quality", thing.of)
        family = getattr(thing, "family", "") if kind == "class" else ""
        return self.thing("family", family) if family else None

    def _own_fields(self, kind: str, subject: NamedNode, thing: Thing) -> Iterator[Triple]:
        skip = {"id", "label", "also", "definition", "common_names", "synonyms"}
        for field in fields(thing):
            value = getattr(thing, field.name)
            if field.name in skip or value in ("", (), None, False):
                continue
            if field.name == "family" and kind == "class":
                yield Triple(subject, self.term("family"), self.thing("family", value))
            elif field.name == "of":
                yield Triple(subject, self.term("percept"), self.thing("quality", value))
            elif field.name == "absence_of":
                for id in value:
                    yield Triple(subject, self._field("absence_of"), self.thing("quality", id) if id in self.ontology.things["quality"] else Literal(id))
            elif field.name in ("sense", "taste_safety"):
                yield Triple(subject, self.term(camel(field.name)), self.word(camel(field.name), value))
            elif isinstance(value, bool):
                yield Triple(subject, self._field(field.name), truth(value))
            else:
                predicate = self._field("botanical_name" if field.name == "name" else "plant_family" if field.name == "family" else field.name)
                for text in value if isinstance(value, tuple) else (value,):
                    yield Triple(subject, predicate, Literal(str(text)))

    # -- claims ------------------------------------------------------------------------------------------------

    def _claims(self) -> tuple[list[Triple], list[Triple]]:
        claims: list[Triple] = []
        statements: dict[tuple[str, str, str], Triple] = {}
        against: dict[str, list[str]] = {}
        for group in self.ontology.contradictions:
            for claim in group:
                against.setdefault(claim.id, []).extend(other.id for other in group if other.word != claim.word)
        for claim in self.ontology.claims:
            plain = self._claim(claim, claims)
            for other in against.get(claim.id, ()):
                claims.append(Triple(NamedNode(self.names.claim(claim.id)), self.term("contradicts"), NamedNode(self.names.claim(other))))
            if plain is not None:
                statements[(str(plain.subject), str(plain.predicate), str(plain.object))] = plain
        return claims, list(statements.values())

    def _claim(self, claim: Claim, into: list[Triple]) -> Triple | None:
        node, names = self.node, self.names
        of_herb = claim.subject in self.ontology.things["herb"]
        relation = (OF_HERB if of_herb else LINKS)[claim.relation]
        subject = self.thing("herb" if of_herb else self.kind_of(claim.subject, relation.subject[1]), claim.subject)
        kind = self.kind_of(claim.object, relation.object[1])
        target = self.thing(kind, claim.object) if kind else Literal(claim.object)
        predicate = self.term(vocabulary.RELATIONS[claim.relation][0])
        iri = NamedNode(names.claim(claim.id))
        say: Callable[[NamedNode, NamedNode | Literal], None] = lambda p, o: into.append(Triple(iri, p, o))  # noqa: E731
        say(_TYPE, self.term("Claim"))
        say(node(RDF + "subject"), subject)
        say(node(RDF + "predicate"), predicate)
        say(node(RDF + "object"), target)
        key = relation.word[0]
        if key and claim.word:
            say(self._field(key), self.word(SCHEME_OF_WORD.get(key, key), claim.word))
        if claim.basis:
            say(self.term("basis"), self.word("basis", claim.basis))
        for name, value in claim.facts.items():
            if name == "false_positive":
                say(self._field(name), self.word("strength", str(value)))
            else:
                for one in value if isinstance(value, tuple) else (value,):
                    say(self._field(name), truth(one) if isinstance(one, bool) else number(one) if isinstance(one, int | float) else Literal(one))
        say(self.term("read"), truth(claim.seen))
        say(self.term("fromMemory"), truth(claim.from_memory))
        say(self.term("commonPractice"), truth(claim.common_practice))
        say(node(PROV + "wasAttributedTo"), node(names.of("agent", "editors")))
        say(node(PROV + "wasGeneratedBy"), node(names.of("activity", "entry")))
        if claim.place.file:
            say(node(DCTERMS + "isPartOf"), self._file(claim.place.file))
        for source in dict.fromkeys(claim.source_ids):
            say(node(DCTERMS + "source"), node(names.source(source)))
        for order in range(1, len(claim.attributions) + 1):
            into.append(Triple(iri, node(PROV + "qualifiedPrimarySource"), NamedNode(names.attribution(claim.id, order))))
        for order, attribution in enumerate(claim.attributions, start=1):
            self._attribution(NamedNode(names.attribution(claim.id, order)), order, attribution, into)
        if claim.relation == "described_as" and claim.word == "absent":
            return Triple(subject, self.term(vocabulary.LACKS), target)
        return None if claim.word == "almost-never" else Triple(subject, predicate, target)

    def _file(self, name: str) -> NamedNode:
        """The YAML file, by its place in the ontology folder: the same on every machine."""
        path = PurePath(name)
        return self.node(self.names.of("file", *path.parts[-2:] if path.parent.name in ("herbs", "links", "things") else path.parts[-1:]))

    def _attribution(self, at: NamedNode, order: int, attribution: Attribution, into: list[Triple]) -> None:
        into.append(Triple(at, _TYPE, self.node(PROV + "PrimarySource")))
        into.append(Triple(at, self.node(PROV + "entity"), self.node(self.names.source(attribution.source))))
        into.append(Triple(at, self.term("order"), number(order)))
        if attribution.where:
            into.append(Triple(at, self.term("where"), Literal(attribution.where)))
        if attribution.read:
            into.append(Triple(at, self.term("readOn"), when(attribution.read)))

    # -- sources, words, terms, dataset ------------------------------------------------------------------------

    def _sources(self) -> list[Triple]:
        found: list[Triple] = []
        for source in self.ontology.sources.values():
            found += self._source(source)
        return found

    def _source(self, source: Source) -> Iterator[Triple]:
        iri, node = NamedNode(self.names.source(source.id)), self.node
        for kind in (self.term("Source"), node(DCTERMS + "BibliographicResource"), node(BIBO + ("Article" if source.journal else "Document"))):
            yield Triple(iri, _TYPE, kind)
        yield Triple(iri, node(DCTERMS + "identifier"), Literal(source.id))
        yield Triple(iri, node(DCTERMS + "title"), Literal(source.title))
        yield Triple(iri, self.term("grade"), self.word("grade", source.grade))
        if source.author:
            yield Triple(iri, node(DCTERMS + "creator"), Literal(source.author))
        if source.year:
            yield Triple(iri, node(DCTERMS + "issued"), when(source.year))
        if source.doi:
            yield Triple(iri, node(BIBO + "doi"), Literal(source.doi))
        if source.url:
            yield Triple(iri, node(RDFS + "seeAlso"), NamedNode(source.url) if _URL.match(source.url) else Literal(source.url))
        for key in ("journal", "document", "note"):
            if value := getattr(source, key):
                yield Triple(iri, self._field(key), Literal(value))

    def _words_used(self) -> list[Triple]:
        found: list[Triple] = []
        tables = self.ontology.tables
        numbers = {"strength": tables.strengths, "level": tables.levels, "effect": tables.effects}
        for scheme in sorted({scheme for scheme, _ in self._words}):
            at = self.node(self.names.scheme(scheme))
            found += [Triple(at, _TYPE, self.node(SKOS + "ConceptScheme")), Triple(at, self.node(SKOS + "prefLabel"), Literal(f"words: {scheme}", language="en"))]
            for word in sorted(word for s, word in self._words if s == scheme):
                iri = self.node(self.names.word(scheme, word))
                found += [
                    Triple(iri, _TYPE, self.node(SKOS + "Concept")), Triple(iri, self.node(SKOS + "inScheme"), at),
                    Triple(iri, self.node(SKOS + "topConceptOf"), at), Triple(at, self.node(SKOS + "hasTopConcept"), iri),
                    Triple(iri, self.node(SKOS + "prefLabel"), Literal(word, language="en")), Triple(iri, self.node(SKOS + "notation"), Literal(word)),
                ]
                if word in numbers.get(scheme, {}):
                    found.append(Triple(iri, self.term("number"), number(float(numbers[scheme][word]))))
        return found

    def _terms(self) -> list[Triple]:
        rows = vocabulary.triples(self.names.term, self.fields)
        return [Triple(self.node(s), self.node(p), self.node(o) if kind == "iri" else Literal(o, language=kind)) for s, p, o, kind in rows]

    def _dataset(self, size: int) -> list[Triple]:
        o, node, names = self.ontology, self.node, self.names
        data, licence = node(names.of("dataset")), o.header.get("licence", "")
        counts = [(CLASS_OF[kind], len(o.things[kind])) for kind in KINDS] + [("Claim", len(o.claims)), ("Source", len(o.sources))]
        found = [
            Triple(data, _TYPE, node(DCAT + "Dataset")), Triple(data, _TYPE, node(VOID + "Dataset")), Triple(data, _TYPE, node(PROV + "Entity")),
            Triple(data, node(DCTERMS + "title"), Literal(o.header.get("title", o.header.get("id", "ontology")), language="en")),
            Triple(data, node(DCTERMS + "description"), Literal(
                "Taste and mouthfeel, constituents, actions, uses and cautions of medicinal herbs, each statement with its sources. "
                "For learning only: no diagnosis and no advice to take anything; the local pharmacopoeia and a licensed practitioner decide.", language="en")),
            Triple(data, node(DCTERMS + "identifier"), Literal("sha256:" + o.sha256)),
            Triple(data, node(OWL + "versionInfo"), Literal(o.version)),
            Triple(data, node(VOID + "uriSpace"), Literal(names.base)),
            Triple(data, node(DCTERMS + "publisher"), node(names.of("agent", "editors"))),
        ]
        if licence:
            found.append(Triple(data, node(DCTERMS + "license"), node(LICENCES[licence]) if licence in LICENCES else Literal(licence)))
        for cls, count in counts:
            part = node(names.of("dataset", cls))
            found += [
                Triple(data, node(VOID + "classPartition"), part), Triple(part, node(VOID + "class"), self.term(cls)),
                Triple(part, node(VOID + "entities"), number(count)),
            ]
        agent, entry = node(names.of("agent", "editors")), node(names.of("activity", "entry"))
        found += [
            Triple(agent, _TYPE, node(PROV + "Agent")), Triple(agent, node(RDFS + "label"), Literal("the editors of this ontology", language="en")),
            Triple(entry, _TYPE, node(PROV + "Activity")), Triple(entry, node(PROV + "wasAssociatedWith"), agent),
            Triple(entry, node(RDFS + "label"), Literal("entry by hand, with the sources named at each statement", language="en")),
        ]
        if o.tables.prior_herbs:
            found.append(Triple(data, self.term("herbsCounted"), number(o.tables.prior_herbs)))
        size += len(found) + 1
        found.append(Triple(data, node(VOID + "triples"), number(size)))
        return found
