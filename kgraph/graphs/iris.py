"""Names for everything in the RDF graph: one base, readable paths, the same name at every export."""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import quote, unquote

from kgraph.yamlio import InputError, Place

#: RFC 2606 reserves `.example`: these names lead nowhere, and say so. Set a base of your own before you publish.
DEFAULT_BASE = "https://kgraph.example/"

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
OWL = "http://www.w3.org/2002/07/owl#"
XSD = "http://www.w3.org/2001/XMLSchema#"
SKOS = "http://www.w3.org/2004/02/skos/core#"
DCTERMS = "http://purl.org/dc/terms/"
PROV = "http://www.w3.org/ns/prov#"
VOID = "http://rdfs.org/ns/void#"
DCAT = "http://www.w3.org/ns/dcat#"
BIBO = "http://purl.org/ontology/bibo/"
SOSA = "http://www.w3.org/ns/sosa/"

_BASE = re.compile(r"https?://[^\s<>\"{}|\\^`\x00-\x20?#]+[/#]\Z|urn:[a-z0-9][a-z0-9-]{0,31}:(?:[^\s<>\"{}|\\^`\x00-\x20?#]+[:/])?\Z", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Names:
    """IRIs under one base.

    >>> Names().thing("quality", "bitter")
    'https://kgraph.example/quality/bitter'
    """

    base: str = DEFAULT_BASE

    def __post_init__(self) -> None:
        if not _BASE.match(self.base) or len(self.base) > 500:
            raise InputError.single(
                "no-iri", f"`{self.base[:80]}` is no base for IRIs.",
                "Give an absolute http, https or urn IRI without query or fragment that ends in /, # or :, such as https://example.org/herbs/.", Place("--base"),
            )

    def of(self, *parts: str) -> str:
        """The IRI of a path; what may not stand in one is percent-encoded."""
        return self.base + "/".join(quote(part, safe="~@.,:") for part in parts)

    def term(self, name: str) -> str:
        """A class or property of this graph's own vocabulary."""
        return f"{self.base}term/{name}"

    def thing(self, kind: str, id: str) -> str:
        return self.of(kind, id)

    def scheme(self, name: str) -> str:
        return self.of("scheme", name)

    def word(self, scheme: str, word: str) -> str:
        """A word of a closed list, as a concept."""
        return self.dotted("word", scheme, word)

    def dotted(self, kind: str, *parts: str) -> str:
        """A kind, and parts joined by dots (a slash would have to be escaped in Turtle); a dot inside a part is encoded."""
        return f"{self.base}{kind}/" + ".".join(quote(part, safe="~@").replace(".", "%2E") for part in parts)

    def claim(self, id: str) -> str:
        return self.dotted("claim", *id.split("/", 2))

    def claim_id(self, iri: str) -> str:
        """The id behind the IRI of a claim: the inverse of :meth:`claim`."""
        relation, subject, rest = iri[len(self.base) + len("claim/"):].split(".", 2)
        return "/".join(unquote(part) for part in (relation, subject, rest))

    def attribution(self, claim_id: str, order: int) -> str:
        return self.dotted("attribution", *claim_id.split("/", 2), str(order))

    def source(self, id: str) -> str:
        return self.of("source", id)

    def id_of(self, iri: str) -> str:
        """The id at the end of an IRI."""
        return unquote(iri.rsplit("/", 1)[-1])

    @property
    def prefixes(self) -> dict[str, str]:
        """Prefix to namespace, for writers and for queries."""
        own = {name: f"{self.base}{name}/" for name in ("quality", "family", "class", "action", "use", "caution", "condition", "test", "herb", "claim", "attribution", "source", "word", "scheme")}
        return {
            "kg": f"{self.base}term/", **own, "rdf": RDF, "rdfs": RDFS, "owl": OWL, "xsd": XSD, "skos": SKOS, "dcterms": DCTERMS,
            "prov": PROV, "void": VOID, "dcat": DCAT, "bibo": BIBO, "sosa": SOSA,
        }
