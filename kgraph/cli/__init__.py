"""The command line: parse, call, print; nothing else.

Exit codes: 0 fine, 1 a check found faults, 2 wrong use or bad input, 70 a fault of the program's own, 130 interrupted.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import signal
import sys
from collections.abc import Sequence
from types import FrameType

FINE, FAULTS_FOUND, BAD_INPUT, OWN_FAULT, INTERRUPTED = 0, 1, 2, 70, 130
MAX_SHOWN = 60
_UNWRITABLE = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EPIPE, errno.EDQUOT)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code. Prints results on stdout and messages on stderr."""
    from kgraph.cli.bench import command  # every command is there once all modules are imported
    from kgraph.yamlio.faults import InputError

    if sys.stdout is None:
        _complain("there is nowhere to write the answer (standard output is closed).")
        return BAD_INPUT
    try:
        command()(args=list(argv) if argv is not None else None, prog_name="kgraph")
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else (FINE if stop.code is None else BAD_INPUT)
    except InputError as error:
        for fault in error.faults[:MAX_SHOWN]:
            _complain(str(fault))
        if (more := len(error.faults) - MAX_SHOWN) > 0:
            _complain(f"and {more} more")
        return BAD_INPUT
    except Exception as error:
        if isinstance(error, OSError) and error.errno in _UNWRITABLE:
            _complain(f"the answer cannot be written ({error.strerror}).")
            with contextlib.suppress(OSError, ValueError):  # what is left in the buffer has nowhere to go
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return BAD_INPUT
        if os.environ.get("KGRAPH_TRACE"):
            raise
        _complain(
            f"a fault of the program's own ({type(error).__name__}: {error}). "
            "Please report it with the command you gave; KGRAPH_TRACE=1 shows where it happened."
        )
        return OWN_FAULT
    return FINE


def _complain(message: str) -> None:
    if sys.stderr is not None:
        with contextlib.suppress(OSError):
            sys.stderr.write(f"kgraph: {message}\n")
            sys.stderr.flush()


def _interrupted(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(INTERRUPTED)


def run() -> None:
    """The console script."""
    signal.signal(signal.SIGINT, _interrupted)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal without arrows gets question marks, not an error
            stream.reconfigure(errors="replace")
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)  # `kgraph ... | head` ends quietly
    sys.exit(main())
