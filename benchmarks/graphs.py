"""The graph's forms and queries: seconds a format, shipped queries against the embedded store used directly, 100,000 claims.

    python benchmarks/graphs.py [--claims 100000]
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from pyoxigraph import Store

from kgraph.claims.folders import shipped_folder
from kgraph.graphs.formats import FORMATS, export
from kgraph.graphs.iris import Names
from kgraph.graphs.querying import ask_graph, bindings_of, named_queries, store_of, value_of
from kgraph.session import load

SETTINGS = {"quality": "drying", "herb": "gentiana-lutea-root"}
LARGE = """
import resource, sys, time
from pathlib import Path
from kgraph.claims import folders, reading
from kgraph.graphs.formats import export
start = time.perf_counter()
o, _ = reading.compile_folders(folders.select([Path(sys.argv[1])]))
checked = time.perf_counter()
size = len(export(o, sys.argv[2]))
print(len(o.claims), checked - start, time.perf_counter() - checked, size, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def direct(store: Store, text: str, names: Names) -> int:
    """The store alone: the same query, every row made plain."""
    return sum(1 for row in store.query(text, prefixes=names.prefixes, use_default_graph_as_union=True) if tuple(value_of(v) for v in row) is not None)  # type: ignore[union-attr]


def queries() -> None:
    o, names = load().ontology, Names()
    store = store_of(o, names)
    print("| query | rows | ours | store directly | ratio |\n| --- | --- | --- | --- | --- |")
    for query in named_queries().values():
        bindings = bindings_of(o, query, {k: SETTINGS[k] for k in query.needs}, names)
        text = query.text
        for key, iri in bindings.items():
            text = text.replace(f"?{key} ", f"<{iri}> ")
        pairs = []
        for _ in range(9):
            start = time.perf_counter()
            rows = direct(store, text, names)
            middle = time.perf_counter()
            ask_graph(store, query.text, names, bindings=bindings)
            pairs.append((middle - start, time.perf_counter() - middle))
        ours, theirs = (statistics.median(p[i] for p in pairs) for i in (1, 0))
        print(f"| {query.name} | {rows} | {ours * 1000:.1f} ms | {theirs * 1000:.1f} ms | {statistics.median(b / a for a, b in pairs):.2f} |")


def formats() -> None:
    o = load().ontology
    _ = o.claims
    print("| format | seconds | MB |\n| --- | --- | --- |")
    for format in FORMATS:
        seconds = []
        for _ in range(3):
            start = time.perf_counter()
            size = len(export(o, format).encode())
            seconds.append(time.perf_counter() - start)
        print(f"| {format} | {statistics.median(seconds):.2f} | {size / 1e6:.1f} |")


def large(claims: int, format: str) -> None:
    """An ontology of invented herbs added to the shipped one, checked and written in a process of its own."""
    shipped = load().ontology
    classes, each = list(shipped.classes), 50
    with tempfile.TemporaryDirectory() as folder:
        for n in range(claims // each):
            herb = {
                "id": f"planta-{n}", "name": f"Planta nova{n}", "family": "Novaceae", "part": "herb", "common_names": [f"new plant {n}"], "taste_safety": "ok",
                "no_description": "invented", "no_cautions": "invented",
                "contains": [{"class": classes[(n + k) % len(classes)], "level": ("major", "minor", "trace")[k % 3], "common_practice": True} for k in range(each)],
            }
            (Path(folder) / f"planta-{n}.yaml").write_text(json.dumps({"herb": herb}))
        done = subprocess.run([sys.executable, "-c", LARGE, folder, format], capture_output=True, text=True, check=False)
    if done.returncode:
        print(done.stderr[-1500:])
        return
    count, checked, written, size, memory = done.stdout.split()
    print(f"{int(count):,} claims: checked in {float(checked):.1f} s, written as {format} in {float(written):.1f} s ({int(size) / 1e6:.0f} MB), peak {memory} MiB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--claims", type=int, default=100_000)
    parser.add_argument("--large-only", action="store_true", help="only the synthetic claims")
    asked = parser.parse_args()
    print(f"shipped ontology at {shipped_folder().name}/, peak before: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MiB\n")
    formats() if not asked.large_only else None
    print()
    queries() if not asked.large_only else None
    print()
    for format in ("turtle", "n-quads"):
        large(asked.claims, format)


if __name__ == "__main__":
    main()
