"""The shapes of `ontology/shapes.ttl`: the shipped graph conforms, and each shape catches something broken. Judge: pyshacl."""

from __future__ import annotations

from pathlib import Path

import pyshacl
import pytest
import rdflib
from pyoxigraph import Triple
from rdflib.namespace import RDF, SKOS

from kgraph.graphs.formats import turtle
from kgraph.graphs.iris import Names

ROOT = Path(__file__).resolve().parents[2]
KG = rdflib.Namespace("https://kgraph.example/term/")
SH = rdflib.Namespace("http://www.w3.org/ns/shacl#")
SHAPES = rdflib.Graph().parse(ROOT / "ontology" / "shapes.ttl")
#: A small graph that conforms. Each example below takes something away from it, or adds it.
SOUND = """
@prefix kg: <https://kgraph.example/term/> . @prefix : <https://kgraph.example/> . @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> . @prefix prov: <http://www.w3.org/ns/prov#> . @prefix dcterms: <http://purl.org/dc/terms/> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> . @prefix dcat: <http://www.w3.org/ns/dcat#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix void: <http://rdfs.org/ns/void#> . @prefix sosa: <http://www.w3.org/ns/sosa/> .
:scheme a skos:ConceptScheme . :editors a prov:Agent . kg:warnsOf a rdf:Property .
:herb a skos:Concept , kg:Herb ; skos:prefLabel "herb"@en ; skos:inScheme :scheme ; skos:notation "herb" ; kg:tasteSafety :avoid ; kg:botanicalName "Herba herba" ; kg:part "leaf" .
:blim a skos:Concept , kg:Quality ; skos:prefLabel "blim"@en ; skos:inScheme :scheme ; skos:notation "blim" ; skos:broader :herb .
:avoid a skos:Concept ; skos:prefLabel "avoid"@en ; skos:inScheme :scheme ; skos:notation "avoid" ; kg:number 0.5 .
:text a kg:Source ; dcterms:title "A text" ; kg:grade :avoid .
:claim a kg:Claim ; rdf:subject :herb ; rdf:predicate kg:warnsOf ; rdf:object :avoid ; kg:read true ; kg:fromMemory false ; kg:commonPractice false ;
  prov:wasAttributedTo :editors ; kg:basis :avoid ; kg:severity :avoid ; kg:detail "mind" ; kg:preparation "tea" ; dcterms:source :text ; prov:qualifiedPrimarySource :at .
:at a prov:PrimarySource ; prov:entity :text ; kg:order 1 ; kg:readOn "2026-11-25"^^xsd:date .
:data a dcat:Dataset ; dcterms:license :licence ; owl:versionInfo "1" ; void:triples 70 .
:sample a sosa:Sample . :tasting a kg:Tasting ; sosa:observedProperty :blim ; sosa:hasFeatureOfInterest :sample ; sosa:hasSimpleResult 3 .
"""
#: Shape to (what is taken away, what is put there).
BROKEN = {
    "Claim": ("dcterms:source :text ;", ""),
    "claim-subject": ("rdf:subject :herb ;", 'rdf:subject :herb , :blim ;'),
    "claim-predicate": ("rdf:predicate kg:warnsOf ;", "rdf:predicate :blim ;"),
    "claim-object": ("rdf:object :avoid ;", "rdf:object 5 ;"),
    "claim-read": ("kg:read true ;", 'kg:read "perhaps" ;'),
    "claim-from-memory": ("kg:fromMemory false ;", ""),
    "claim-common-practice": ("kg:commonPractice false ;", ""),
    "claim-agent": ("prov:wasAttributedTo :editors ;", ""),
    "claim-basis": ("kg:basis :avoid ;", 'kg:basis "hearsay" ;'),
    "warning-severity": ("kg:severity :avoid ;", "kg:severity :avoid , :blim ;"),
    "warning-detail": ('kg:detail "mind" ;', ""),
    "warning-preparation": ('kg:preparation "tea" ;', ""),
    "attribution-source": ("prov:entity :text ;", "prov:entity :blim ;"),
    "attribution-order": ("kg:order 1 ;", "kg:order 0 ;"),
    "attribution-place": ('"2026-11-25"^^xsd:date', '"last week"'),
    "source-title": ('dcterms:title "A text" ;', ""),
    "source-grade": ("kg:grade :avoid .", "kg:grade :avoid , :blim ."),
    "concept-label": ('skos:prefLabel "blim"@en ;', 'skos:prefLabel "blim"@en , "blom"@en ;'),
    "concept-scheme": ('skos:inScheme :scheme ; skos:notation "blim"', 'skos:notation "blim"'),
    "concept-notation": ('skos:notation "blim" ;', ""),
    "concept-alternatives": ("skos:broader :herb", "skos:broader :scheme"),
    "herb-safety": ("kg:tasteSafety :avoid ;", ""),
    "herb-name": ('kg:botanicalName "Herba herba" ;', ""),
    "herb-part": (' ; kg:part "leaf"', ""),
    "word-number": ("kg:number 0.5", "kg:number -0.5"),
    "dataset-licence": ("dcterms:license :licence ;", ""),
    "dataset-version": ('owl:versionInfo "1" ;', ""),
    "dataset-size": ("void:triples 70", 'void:triples "many"'),
    "tasting-property": ("sosa:observedProperty :blim", "sosa:observedProperty :herb"),
    "tasting-sample": ("sosa:hasFeatureOfInterest :sample ;", ""),
    "tasting-result": ("sosa:hasSimpleResult 3", "sosa:hasSimpleResult 4"),
}


def violated(text: str) -> set[str]:
    """The shapes that a graph breaks."""
    _, report, _ = pyshacl.validate(rdflib.Graph().parse(data=text, format="turtle"), shacl_graph=SHAPES, inference="none")
    return {str(shape).rsplit("/", 1)[-1] for shape in report.objects(None, SH.sourceShape)}


def test_the_shipped_graph_conforms(parts: dict[str, list[Triple]], names: Names) -> None:
    """Nothing to report about knowledge, words, terms, dataset and the demo's tastings."""
    conforms, _, text = pyshacl.validate(rdflib.Graph().parse(data=turtle(parts, names), format="turtle"), shacl_graph=SHAPES, inference="none")
    assert conforms, text[:2000]


def test_the_small_graph_is_sound() -> None:
    """What the examples break is whole before."""
    assert violated(SOUND) == set()


@pytest.mark.parametrize("shape", BROKEN)
def test_each_shape_catches_its_fault(shape: str) -> None:
    """One thing broken, and the shape made for it says so."""
    away, there = BROKEN[shape]
    assert SOUND.count(away) >= 1
    assert shape in violated(SOUND.replace(away, there, 1))


def test_every_shape_has_an_example() -> None:
    """No shape without a broken example: those with a message of their own."""
    own = {str(s).rsplit("/", 1)[-1] for s in SHAPES.subjects(SH.message, None) if isinstance(s, rdflib.URIRef)}
    assert own == set(BROKEN)


@pytest.fixture(scope="module")
def graph(parts: dict[str, list[Triple]], names: Names) -> rdflib.Graph:
    return rdflib.Graph().parse(data=turtle({k: v for k, v in parts.items() if k in ("things", "words")}, names), format="turtle")


class TestSkos:
    """Integrity conditions of the SKOS reference (W3C 2009), by plain set arithmetic."""

    def test_s9_concepts_are_no_schemes(self, graph: rdflib.Graph) -> None:
        """S9: nothing is both."""
        assert not set(graph.subjects(RDF.type, SKOS.Concept)) & set(graph.subjects(RDF.type, SKOS.ConceptScheme))

    def test_s13_labels_are_disjoint(self, graph: rdflib.Graph) -> None:
        """S13: preferred and alternative labels differ."""
        assert not set(graph.subject_objects(SKOS.prefLabel)) & set(graph.subject_objects(SKOS.altLabel))

    def test_s14_one_preferred_label_a_language(self, graph: rdflib.Graph) -> None:
        """S14."""
        pairs = [(s, o.language) for s, o in graph.subject_objects(SKOS.prefLabel)]
        assert len(pairs) == len(set(pairs)) > 500

    def test_s27_related_is_disjoint_from_broader(self, graph: rdflib.Graph) -> None:
        """S27: nothing related at all, and broader never turns in a circle."""
        assert not list(graph.subject_objects(SKOS.related))
        for concept in set(graph.subjects(SKOS.broader, None)):
            above = [a for a in graph.transitive_objects(concept, SKOS.broader) if a != concept]
            assert concept not in {b for a in above for b in graph.objects(a, SKOS.broader)}

    def test_broader_and_narrower_are_inverse(self, graph: rdflib.Graph) -> None:
        """S25, and every concept without a broader one is a top concept of its scheme (S7, S8)."""
        assert set(graph.subject_objects(SKOS.broader)) == {(o, s) for s, o in graph.subject_objects(SKOS.narrower)}
        tops = set(graph.subjects(SKOS.topConceptOf, None))
        assert tops == set(graph.subjects(RDF.type, SKOS.Concept)) - set(graph.subjects(SKOS.broader, None))
        assert set(graph.subject_objects(SKOS.topConceptOf)) == {(o, s) for s, o in graph.subject_objects(SKOS.hasTopConcept)}
