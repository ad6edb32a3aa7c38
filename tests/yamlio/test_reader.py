"""The strict reader: what it accepts, what it refuses, and that every fault has its place."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from kgraph.yamlio import FaultList, Fields, InputError, Leaf, Limits, Mapping, Sequence, nearest, read_file, read_text


def plain(node: Leaf | Mapping | Sequence) -> object:
    if isinstance(node, Mapping):
        return {k: plain(v) for k, v in node.entries.items()}
    if isinstance(node, Sequence):
        return [plain(v) for v in node.items]
    return node.value


def rules(text: str) -> list[tuple[str, int]]:
    with pytest.raises(InputError) as caught:
        read_text(text, "f.yaml")
    return [(fault.rule, fault.place.line) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("no", "no"), ("on", "on"), ("off", "off"), ("Yes", "Yes"), ("012", "012"), ("12:30", "12:30"), ("1:30", "1:30"),
        ("1_000", "1_000"), ("2026-05-03", "2026-05-03"), ("0x1F", "0x1F"), ("1e3", 1000.0), ("-7", -7), ("0.50", 0.5), (".5", 0.5),
        ("true", True), ("false", False), ("null", None), ("~", None), ("=", "="), ("'no'", "no"), ("'7'", "7"), ("NO", "NO"),
    ],
)
def test_scalars_mean_what_is_written(text: str, value: object) -> None:
    """The traps of YAML 1.1 (booleans, octal, base 60, underscores, dates) stay text."""
    found = plain(read_text(f"key: {text}", "f.yaml"))
    assert found == {"key": value}
    assert type(found["key"]) is type(value)  # type: ignore[index]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a: 1\nb: 2\na: 3\n", [("duplicate-key", 3)]),
        ("", [("empty", 1)]),
        ("# only a comment\n", [("empty", 1)]),
        ("- 1\n", [("not-a-mapping", 1)]),
        ("just text\n", [("not-a-mapping", 1)]),
        ("a: [1,\n", [("syntax", 2)]),
        ("a:\n\t- 1\n", [("tab", 2)]),
        ("a: &x 1\nb: *x\n", [("anchor", 1), ("alias", 2)]),
        ("a: 1\n---\nb: 2\n", [("two-documents", 2)]),
        ("a: !!python/object/apply:os.system [x]\n", [("tag", 1)]),
        ("a: {<<: {b: 1}}\n", [("bad-key", 1)]),
        ("? [1, 2]\n: 3\n", [("bad-key", 1)]),
        ("a: " + "[" * 5000 + "\n", [("too-deep", 1)]),
        ("a: 1\nb: {c: 1, c: 2}\nd: &y {}\n", [("duplicate-key", 2), ("anchor", 3)]),
    ],
)
def test_what_is_refused(text: str, expected: list[tuple[str, int]]) -> None:
    """Each fault is named with its line, and all faults of form come in one run."""
    assert rules(text) == expected


def test_an_alias_bomb_is_refused_at_once() -> None:
    """Nine levels of nine aliases would be 387 million leaves; not one is expanded."""
    lines = ["a: &a [x,x,x,x,x,x,x,x,x]"] + [f"{chr(98 + i)}: &{chr(98 + i)} [{','.join(['*' + chr(97 + i)] * 9)}]" for i in range(8)]
    found = rules("\n".join(lines))
    assert {rule for rule, _ in found} == {"anchor", "alias"}


@pytest.mark.parametrize(
    ("data", "rule"),
    [(b"\x00\x01\x02", "binary"), ("gr\u00fcn: 1".encode("latin-1"), "not-utf-8"), (b"a: 1\n" * 1_200_000, "too-large"), (b"\xef\xbb\xbfa: 1\n", None)],
)
def test_bytes(tmp_path: Path, data: bytes, rule: str | None) -> None:
    """Binary, another encoding and too large files are named so; a byte order mark is dropped."""
    path = tmp_path / "f.yaml"
    path.write_bytes(data)
    if rule is None:
        assert plain(read_file(path)) == {"a": 1}
        return
    with pytest.raises(InputError) as caught:
        read_file(path)
    assert [fault.rule for fault in caught.value.faults] == [rule]
    assert str(path) in str(caught.value)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    """A missing file and a folder each get their own word."""
    for path, rule in ((tmp_path / "none.yaml", "no-such-file"), (tmp_path, "is-a-folder")):
        with pytest.raises(InputError) as caught:
            read_file(path)
        assert caught.value.faults[0].rule == rule


def test_node_limit() -> None:
    """A file with too many values is refused."""
    with pytest.raises(InputError) as caught:
        read_text("a: [" + "1," * 200 + "]", "f.yaml", Limits(nodes=100))
    assert caught.value.faults[0].rule == "too-many-nodes"


letters = st.characters(categories=("L", "N", "P", "S", "Zs"))
scalars = st.one_of(st.text(letters, max_size=20), st.integers(-(10**9), 10**9), st.booleans(), st.none(), st.floats(-1e6, 1e6).map(lambda x: round(x, 3)))
trees = st.recursive(scalars, lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(letters, min_size=1, max_size=8).filter(lambda key: key != "<<"), inner, max_size=4)), max_leaves=12)


@given(st.dictionaries(st.text("abcdefgh", min_size=1, max_size=6), trees, min_size=1, max_size=5))
def test_reads_back_what_a_yaml_library_writes(data: dict[str, object]) -> None:
    """Anything that JSON can say is read as it was meant: JSON is YAML. But for the key `<<`, which is refused even in quotes: nobody means it."""
    import json

    text = json.dumps(data, ensure_ascii=False)
    assert plain(read_text(text, "f.yaml")) == json.loads(text)


@given(st.text(max_size=200))
def test_no_text_gives_anything_but_a_fault(text: str) -> None:
    """Arbitrary text is read or refused; there is no third way."""
    try:
        read_text(text, "f.yaml")
    except InputError as error:
        assert error.faults


@given(st.binary(max_size=200))
def test_no_bytes_give_anything_but_a_fault(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    """Arbitrary bytes are read or refused."""
    path = tmp_path_factory.mktemp("b") / "f.yaml"
    path.write_bytes(data)
    try:
        read_file(path)
    except InputError as error:
        assert error.faults


def test_the_pure_python_parser_agrees(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the C library the same faults stand on the same lines."""
    import kgraph.yamlio.reader as reader

    texts = ["a: 1\na: 2\n", "a: &x 1\n", "a: 1\n---\nb: 2\n", "a: !!int 1\n", "a: {b: [no, 012]}\n"]

    def results() -> list[object]:
        out: list[object] = []
        for text in texts:
            try:
                out.append(plain(read_text(text, "f")))
            except InputError as error:
                out.append([(f.rule, f.place.line, f.place.column) for f in error.faults])
        return out

    with_c = results()
    monkeypatch.setattr(reader, "_Loader", yaml.SafeLoader)
    assert results() == with_c


class TestFields:
    """Typed access notes faults instead of raising."""

    def fields(self, text: str) -> Fields:
        return Fields(read_text(text, "f.yaml"), FaultList(), "this thing")

    @pytest.mark.parametrize(
        ("text", "rule"),
        [
            ("n: abc", "not-a-number"), ("n: .nan", "not-finite"), ("n: .inf", "not-finite"), ("n: -1", "out-of-range"), ("n: 101", "out-of-range"),
            ("n: 012", "not-a-number"), ("n: '7'", "not-a-number"), ("n: true", "not-a-number"), ("n: [1]", "not-a-number"),
        ],
    )
    def test_numbers(self, text: str, rule: str) -> None:
        """A number must be a plain finite number within its bounds."""
        row = self.fields(text)
        assert row.number("n", 0, 100) is None
        assert [f.rule for f in row.faults.faults] == [rule]

    def test_unknown_keys_get_the_nearest_right_one(self) -> None:
        """`strenght` is answered with `strength`."""
        row = self.fields("strenght: weak\nquality: bitter")
        row.text("strength")
        row.text("quality")
        row.done()
        assert "Did you mean `strength`?" in row.faults.faults[0].remedy
        assert row.faults.faults[0].place.line == 1

    def test_words_and_flags(self) -> None:
        """Closed lists suggest; yes and no are taken only where a field allows them."""
        row = self.fields("w: bitterr\nf: no\ng: no")
        assert row.word("w", ["bitter", "sweet"]) is None
        assert row.flag("f", {"yes": True, "no": False}) is False
        assert row.flag("g") is None
        assert [f.rule for f in row.faults.faults] == ["unknown-word", "not-true-or-false"]


def test_nearest_prefers_the_closest() -> None:
    """Suggestions are ordered and few."""
    assert nearest("biter", ["bitter", "sweet", "bitters", "butter"])[0] == "bitter"
    assert nearest("", ["a"]) == []
