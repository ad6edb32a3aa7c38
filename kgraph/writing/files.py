"""Writing a file: to a temporary name and moved, nothing overwritten unasked, nothing half written."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from kgraph.yamlio import InputError, Place, did_you_mean


def format_of(output: str, asked: str, endings: dict[str, str], further: Iterable[str] = ()) -> str:
    """The format asked for (`further` ones have no ending), or the one that the file's ending stands for. Raises :class:`InputError` when neither is known."""
    known = sorted({*endings.values(), *further})
    if asked:
        if asked not in known:
            raise InputError.single("unknown-format", f"no format is called `{asked}`.", did_you_mean(asked, known) or f"Use one of: {', '.join(known)}.", Place("--format"))
        return asked
    ending = Path(output).suffix.lower()
    if ending in endings:
        return endings[ending]
    raise InputError.single("unknown-format", f"`{output}` does not tell the format.", f"Give --format ({', '.join(known)}) or an ending ({', '.join(sorted(endings))}).", Place("--output"))


def ready(path: Path, *, force: bool = False) -> None:
    """Can a file be written here? Asked before long work. Raises as :func:`write_file`."""
    place = Place(str(path))
    try:
        if path.is_dir():
            raise InputError.single("is-a-folder", "this is a folder, a file was wanted.", "Name the file.", place)
        if path.exists() and not force:
            raise InputError.single("file-exists", "the file exists already.", "Give --force to replace it, or another name.", place)
        if not path.parent.is_dir():
            raise InputError.single("no-such-folder", f"there is no folder `{path.parent}`.", "Make it first.", place)
    except OSError as error:
        raise InputError.single("not-written", f"the file cannot be written ({error.strerror or 'no reason given'}).", "Check the folder's rights and the space.", place) from None


def write_file(path: Path, text: str | bytes, *, force: bool = False) -> None:
    """Write UTF-8 text, or bytes as they are, atomically.

    Raises:
        InputError: the folder is missing, is no folder or cannot be written; the file exists and `force` is not given.
    """
    ready(path, force=force)
    place = Place(str(path))
    name = ""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".kgraph-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(text.encode("utf-8") if isinstance(text, str) else text)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except OSError as error:
        raise InputError.single("not-written", f"the file cannot be written ({error.strerror or 'no reason given'}).", "Check the folder's rights and the space.", place) from None
    finally:
        if name:
            with contextlib.suppress(OSError):
                Path(name).unlink()
