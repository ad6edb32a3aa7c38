"""The commands. Heavy rooms are imported inside each command, so that `--help` loads none of them."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from kgraph.session import Knowledge

app = typer.Typer(
    name="kgraph",
    help="From the taste of a medicinal herb to its constituents, actions and cautions, with every step traced to its source.",
    epilog="For learning only: no diagnosis, no advice to take anything. Tasting unknown plants can poison.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

OntologyOption = Annotated[
    list[str] | None,
    typer.Option("--ontology", metavar="DIR", help="A folder of YAML that adds to the shipped ontology, or replaces it if its header says so. May be given again."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
DrawsOption = Annotated[
    str, typer.Option("--draws", metavar="N", help="How many times all figures are moved by their doubt, to say how steady the order is; 0 for not at all. The random numbers are the same each time.")]
ManyOutputOption = Annotated[str, typer.Option("--output", metavar="FILE", help="Many records: where to write; `-` for stdout. The format follows the ending: .jsonl, .csv.")]
ManyFormatOption = Annotated[str, typer.Option("--format", metavar="FORMAT", help="Many records: json-lines or csv.")]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace a file that exists.")]
FullOption = Annotated[bool, typer.Option("--full", help="Everything: all paths, uses, conditions, tests and the full list of sources.")]


def _version(asked: bool) -> None:
    if asked:
        from kgraph import __version__

        typer.echo(f"kgraph {__version__}")
        raise typer.Exit


class _AsTyped:
    """Hands text on as it was typed."""

    def coerce(self, value: Any, **_: Any) -> Any:
        return list(value) if isinstance(value, tuple) else value


def command() -> Any:
    """The command, ready to run.

    All our parameters are text or flags. typer would import a validation library (a third of the start-up time) to turn
    text into text, so each parameter is told beforehand that there is nothing to do. A typer without this slot ignores it.
    """
    root: Any = typer.main.get_command(app)
    for one in (root, *root.commands.values()):
        for parameter in (*one.params, one.get_help_option(typer.Context(one))):
            if getattr(parameter, "_runtime_param", parameter) is None:
                parameter._runtime_param = _AsTyped()
    return root


@app.callback()
def _root(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and leave.")] = False,
) -> None:
    pass


def _known(folders: list[str] | None) -> Knowledge:
    from kgraph.session import load

    return load(*(folders or []))


def _json_text(data: dict[str, Any], *, plain: bool = False) -> str:
    import json

    return json.dumps(data, ensure_ascii=plain, indent=2, allow_nan=False) + "\n"


def _print_json(data: dict[str, Any]) -> None:
    typer.echo(_json_text(data, plain=(sys.stdout.encoding or "").lower().replace("-", "") != "utf8"), nl=False)


def _draws(text: str) -> int:
    from kgraph.reasoning.trials import checked
    from kgraph.yamlio import InputError, Place, shorten

    try:
        return checked(int(text))
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise InputError.single("draws", f"`{shorten(text)}` is no number.", "Give a whole number, such as 200, or 0 to switch it off.", Place("--draws")) from None


def _qualities(incomplete: str) -> list[str]:
    """Completion: quality ids that begin with what was typed."""
    known = _known(None).ontology
    return [q.id for q in known.qualities.values() if q.id.startswith(incomplete)]


def _herbs(incomplete: str) -> list[str]:
    """Completion: herb ids that begin with what was typed."""
    return [id for id in _known(None).ontology.herbs if id.startswith(incomplete)]


@app.command()
def ask(
    tasting: Annotated[list[str], typer.Argument(metavar="RECORD or WORDS", help='A tasting record (YAML), or plain words such as "dry mouth, a little bitter, not sweet". Several records, a folder or a spreadsheet (CSV) give one line each.')],
    full: FullOption = False,
    numbers: Annotated[bool, typer.Option("--numbers", help="Add the figures: probabilities before and after, weights of evidence in decibans.")] = False,
    json: JsonOption = False,
    strengths: Annotated[bool, typer.Option("--strengths", help="With --json: add every prior, arc and likelihood, so that each figure can be worked out again.")] = False,
    sealed: Annotated[bool, typer.Option("--sealed", help="Hide the name on the label; its cautions are still counted.")] = False,
    draws: DrawsOption = "200",
    output: ManyOutputOption = "-",
    format: ManyFormatOption = "",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Reason from a tasting to constituents and actions, with paths, cautions and what taste cannot show."""
    if strengths and not json:
        from kgraph.yamlio import InputError, Place

        raise InputError.single("only-with-json", "`--strengths` adds to the data only.", "Give --json too.", Place("--strengths"))
    from kgraph.cli.many import answer_many, wants_many

    if wants_many(tasting, "ask", output, format):
        answer_many(_known(ontology), tasting, "ask", "", output, format, force)
        return
    reply = _known(ontology).ask(tasting[0], sealed=sealed, strengths=strengths, draws=_draws(draws))
    if json:
        _print_json(reply.as_dict())
        return
    from kgraph.writing.screen import terminal_width, wants_bold
    from kgraph.writing.terminal import render

    typer.echo(
        render(reply.answer, reply.ontology, full_answer=full, numbers=numbers, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False
    )


@app.command()
def why(
    quality: Annotated[str, typer.Argument(metavar="QUALITY", help="A taste, smell or feel, such as drying or lingering-bitter.", autocompletion=_qualities)],
    herb: Annotated[str, typer.Option("--herb", metavar="HERB", help="The herb in question, by id, botanical or common name.", autocompletion=_herbs)] = "",
    full: FullOption = False,
    json: JsonOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Explain a taste or feel: how to make sure, what gives it, what that belongs with, what would speak against."""
    because = _known(ontology).why(quality, herb or None)
    if json:
        _print_json(because.as_dict())
        return
    from kgraph.writing.screen import terminal_width, wants_bold
    from kgraph.writing.why_text import render

    typer.echo(render(because.explanation, because.ontology, full_answer=full, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)


@app.command()
def match(
    tasting: Annotated[list[str], typer.Argument(metavar="RECORD or WORDS", help="A tasting record (YAML), or plain words. Two stand side by side: what changed between two samples. More records, a folder or a spreadsheet (CSV) give one line each.")],
    claimed: Annotated[str, typer.Option("--claimed", metavar="HERB", help="The herb in question, by id, botanical or common name; else the one on the label.", autocompletion=_herbs)] = "",
    full: FullOption = False,
    numbers: Annotated[bool, typer.Option("--numbers", help="Add the figures: chances before and after, weights of evidence in decibans.")] = False,
    draws: DrawsOption = "200",
    json: JsonOption = False,
    output: ManyOutputOption = "-",
    format: ManyFormatOption = "",
    force: ForceOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Hold a tasting against every herb on file: what fits, what is missing, what nothing accounts for, and its quality."""
    from kgraph.cli.many import answer_many, wants_many

    known = _known(ontology)
    if wants_many(tasting, "match", output, format):
        answer_many(known, tasting, "match", claimed, output, format, force)
        return
    if len(tasting) == 2:
        _side_by_side(known, tasting, claimed, full=full, numbers=numbers, json=json)
        return
    found = known.match(tasting[0], claimed, draws=_draws(draws))
    if json:
        _print_json(found.as_dict())
        return
    from kgraph.writing.match_text import render
    from kgraph.writing.screen import terminal_width, wants_bold

    typer.echo(render(found, known.ontology, full_answer=full, numbers=numbers, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)


def _side_by_side(known: Knowledge, two: list[str], claimed: str, *, full: bool, numbers: bool, json: bool) -> None:
    compared = known.compare(two[0], two[1], claimed)
    if json:
        _print_json(compared.as_dict())
        return
    from kgraph.writing.comparison_text import render
    from kgraph.writing.screen import terminal_width, wants_bold

    typer.echo(render(compared, full_answer=full, numbers=numbers, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)


@app.command(name="next")
def next_(
    tasting: Annotated[str, typer.Argument(metavar="RECORD or WORDS", help="A tasting record (YAML), or plain words.")],
    claimed: Annotated[str, typer.Option("--claimed", metavar="HERB", help="The herb in question, by id, botanical or common name; else the one on the label.", autocompletion=_herbs)] = "",
    about: Annotated[str, typer.Option("--about", metavar="QUESTION", help="families, herbs or lookalikes. Left out: lookalikes where a herb is claimed that has any on file, else families.")] = "",
    full: FullOption = False,
    numbers: Annotated[bool, typer.Option("--numbers", help="Add the figures: the gain in bits.")] = False,
    json: JsonOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Say what to look for next: the finding or test that would tell most, the cheapest and safest first, and what it would change."""
    known = _known(ontology)
    found = known.next(tasting, claimed, about)
    if json:
        _print_json(found.as_dict())
        return
    from kgraph.writing.next_text import render
    from kgraph.writing.screen import terminal_width, wants_bold

    typer.echo(render(found, known.ontology, full_answer=full, numbers=numbers, width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)


@app.command()
def check(
    what: Annotated[str | None, typer.Argument(metavar="[DIR or RECORD]", help="An ontology folder or a tasting record; the shipped ontology if left out.")] = None,
    coverage: Annotated[bool, typer.Option("--coverage", help="Count what the ontology covers and name where it is thin.")] = False,
    json: JsonOption = False,
    priors: Annotated[bool, typer.Option("--priors", help="Print the table of priors counted afresh from the herbs, as YAML.")] = False,
    ontology: OntologyOption = None,
) -> None:
    """Check an ontology folder or a tasting record: every fault with file, line and remedy (exit 1 if there are any)."""
    from kgraph.cli import FAULTS_FOUND
    from kgraph.yamlio import InputError, is_folder

    path = Path(what) if what is not None else None
    known = _known(ontology) if path is not None and not is_folder(path) else None
    try:
        if known is not None and path is not None:
            known.read(path)
            typer.echo(f"{what}: no fault found", file=sys.stderr)
            return
        from kgraph.claims import folders, reading

        found, remarks = reading.compile_folders(folders.select([Path(folder) for folder in (*(ontology or []), *([what] if what is not None else []))]))
    except InputError as error:
        if any(fault.rule in ("no-such-file", "no-such-folder", "not-a-folder", "no-yaml") for fault in error.faults):
            raise
        if json:
            _print_json({"faults": len(error.faults), "remarks": [str(fault) for fault in error.faults]})
        else:
            for fault in error.faults:
                typer.echo(str(fault))
        raise typer.Exit(FAULTS_FOUND) from None
    if priors:
        from kgraph.reasoning.network import priors_as_yaml

        typer.echo(priors_as_yaml(found), nl=False)
        return
    if coverage:
        from kgraph.claims.coverage import coverage as count

        if json:
            _print_json(count(found))
        else:
            from kgraph.writing.coverage_text import render
            from kgraph.writing.screen import terminal_width, wants_bold

            typer.echo(render(count(found), width=terminal_width(), bold=wants_bold(sys.stdout)), nl=False)
        return
    if json:
        _print_json({"faults": 0, "remarks": [str(remark) for remark in remarks]})
        raise typer.Exit(FAULTS_FOUND if remarks else 0)
    for remark in remarks:
        typer.echo(str(remark))
    seen = sum(claim.seen for claim in found.claims)
    typer.echo(
        f"{len(found.herbs)} herbs, {len(found.claims)} statements ({seen} read in a source), "
        f"{len(found.contradictions)} contradictions kept, {len(remarks)} remarks", file=sys.stderr,
    )
    if remarks:
        raise typer.Exit(FAULTS_FOUND)


@app.command()
def fit(
    output: Annotated[str, typer.Option("--output", metavar="FILE", help="Where to write the table; `-` for stdout.")] = "-",
    force: Annotated[bool, typer.Option("--force", help="Replace a file that exists.")] = False,
    json: JsonOption = False,
    ontology: OntologyOption = None,
) -> None:
    """Learn from the documented herbs how strong each link from constituent to taste is, with the words as prior knowledge."""
    from kgraph.reasoning.fit import fit_as_dict, fit_as_yaml, learn

    known = _known(ontology).ontology

    def progress(done: int, of: int) -> None:
        typer.echo(f"\rlearning: {done} of {of}" + ("\n" if done == of else ""), nl=False, err=True)

    learnt = learn(known, progress if sys.stderr is not None and sys.stderr.isatty() else None)
    if json and output == "-":
        _print_json(fit_as_dict(learnt))
        return
    text = _json_text(fit_as_dict(learnt)) if json else fit_as_yaml(learnt, known.tables.fitted_version or 1)
    if output == "-":
        typer.echo(text, nl=False)
    else:
        from kgraph.writing import files

        files.write_file(Path(output), text, force=force)
    typer.echo(f"learnt from {learnt.herbs} described herbs; {len(learnt.strengths)} strengths, {len(learnt.others)} other causes", file=sys.stderr)
