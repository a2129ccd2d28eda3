"""The commands of the command line; each gives its exit status.

Results go to standard output, what is wrong with the input to standard error; with ``--json``
an input that failed has its line among the results too.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import TextIO

from app.batch import outcomes
from app.interrupts import interrupts_put_off
from app.main import SOME_FAILED, SUCCESS
from app.outcomes import TookTooLongError, TookTooMuchError
from app.patience import analysing_seconds, length_bytes, reading_cost
from core.errors import PostilError, UnreadableFileError
from core.exchange.contract_json import analysis_object, error_object, json_line
from core.notebook.analyses import READABLE_SUFFIXES, Analysis, analyse_file
from core.score.formats.tune_books import scores_in

INTERRUPTED = 130
"""What shells expect of a program that Ctrl-C ended."""


def analyse(names: Sequence[str], *, as_json: bool, jobs: int | None, output: str | None) -> int:
    """``postil analyse``: see CONTRACT in its ``--help``; files and folders in the order given."""
    _speak_utf8()
    tasks = [task for name in names for task in _files_of(name)]
    try:
        with _Results(output) as results:
            status = _analyse_all(tasks, as_json=as_json, jobs=jobs, results=results)
            results.keep()
    except KeyboardInterrupt:
        _complain("Stopped.")
        return INTERRUPTED
    except BrokenPipeError:
        # The reader (head, less) has seen enough.
        _drop_what_waits()
        return SOME_FAILED
    except PostilError as error:
        _complain(str(error))
        return SOME_FAILED
    except OSError as error:
        if output is None:
            _drop_what_waits()
        _complain(f"The results can't be written to {output or 'standard output'}: {error}")
        return SOME_FAILED
    return status


def _analyse_all(
    tasks: Sequence[str | UnreadableFileError],
    *,
    as_json: bool,
    jobs: int | None,
    results: _Results,
) -> int:
    status = SUCCESS
    lengths = {task: length_bytes(Path(task)) for task in tasks if isinstance(task, str)}
    found = outcomes(
        _as_json if as_json else _as_report,
        tasks,
        jobs=jobs or os.cpu_count() or 1,
        seconds=lambda task: _weighed(analysing_seconds, task, lengths),
        cost=lambda task: _weighed(reading_cost, task, lengths),
    )
    with closing(found):
        for task, outcome in zip(tasks, found, strict=True):
            path = str(task.path) if isinstance(task, UnreadableFileError) else task
            entry: str | None
            if isinstance(outcome, TookTooLongError | TookTooMuchError):
                # The file's own fault, as far as anybody can tell.
                outcome = UnreadableFileError(path, str(outcome))
            if isinstance(outcome, Exception):
                status = SOME_FAILED
                _complain(f"{path}: {_what_happened(outcome)}")
                entry = json_line(error_object(outcome, path=path)) if as_json else None
            else:
                entry = outcome
            if entry is not None:
                results.write(entry)
    return status


def _weighed(
    measure: Callable[[Path, int], float],
    task: str | UnreadableFileError,
    lengths: Mapping[str, int],
) -> float:
    return measure(Path(task), lengths[task]) if isinstance(task, str) else 0.0


def _as_json(task: str | UnreadableFileError) -> str:
    """Run by a worker, which writes its answer out: the parent would do it for all of them."""
    return json_line(analysis_object(_analysed(task), path=str(task)))


def _as_report(task: str | UnreadableFileError) -> str:
    from app.report import report

    return report(_analysed(task), path=str(task))


def _analysed(task: str | UnreadableFileError) -> Analysis:
    """A folder without scores arrives as the error that it is."""
    if isinstance(task, UnreadableFileError):
        raise task
    return analyse_file(Path(task))


def _files_of(name: str) -> Iterator[str | UnreadableFileError]:
    """The scores that a name on the command line stands for; of a book of tunes, each tune."""
    folder = Path(name)
    if not folder.is_dir():
        tunes = scores_in(folder)
        yield from map(str, tunes) if len(tunes) > 1 else (name,)
        return
    files = sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() in READABLE_SUFFIXES and path.is_file() and not _is_hidden(path)
    )
    if not files:
        kinds = ", ".join(READABLE_SUFFIXES)
        yield UnreadableFileError(folder, f"There is no score in this folder ({kinds}).")
    for path in files:
        yield from map(str, scores_in(path))


def _is_hidden(path: Path) -> bool:
    """Leftovers of other programs, such as the "._" files of a Mac's archive."""
    return path.name.startswith(".")


def _what_happened(error: Exception) -> str:
    if isinstance(error, UnreadableFileError):
        return ", ".join(filter(None, (error.place, error.reason)))
    return str(error) or type(error).__name__


def _complain(sentence: str) -> None:
    print(f"postil: {sentence}", file=sys.stderr)


def _drop_what_waits() -> None:
    """Keep Python from flushing, when it ends, what standard output would not take."""
    # A test's stream, or one that is closed, has no number.
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _speak_utf8() -> None:
    """JSON is UTF-8 whatever the terminal's language; a name may hold bytes that are no text."""
    for stream in (sys.stdout, sys.stderr):
        # A test's or a frozen program's stream may have no encoding to set.
        with suppress(AttributeError):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")  # type: ignore[union-attr]


class _Results:
    """Where results go: standard output as they come, or a file that appears when all is done."""

    def __init__(self, output: str | None) -> None:
        # Through a link to what it names, so that the link stays one.
        self.target = Path(output).resolve() if output else None
        self.unfinished: Path | None = None

    def __enter__(self) -> _Results:
        try:
            # Between a file's making and its name being known here, Ctrl-C would leave it behind.
            with interrupts_put_off():
                self._open()
        except BaseException:
            self._discard()
            raise
        return self

    def _open(self) -> None:
        if self.target is None:
            self.stream: TextIO = sys.stdout
        elif self.target.exists() and not self.target.is_file():
            # A device or a pipe is written to, and never replaced by a file.
            self.stream = self.target.open("w", encoding="utf-8", newline="\n")
        else:
            # Beside the target, so that it can take its place in one step.
            folder = self.target.parent
            import tempfile

            handle, name = tempfile.mkstemp(prefix=f".{self.target.name}.", dir=folder)
            self.unfinished = Path(name)
            self.stream = os.fdopen(handle, "w", encoding="utf-8", newline="\n")

    def write(self, text: str) -> None:
        print(text, file=self.stream, flush=self.target is None)

    def keep(self) -> None:
        """All is done: let the file appear."""
        self.stream.flush()
        if self.unfinished is None or self.target is None:
            return
        os.fsync(self.stream.fileno())
        self.stream.close()
        self.unfinished.chmod(0o666 & ~_umask())
        self.unfinished.replace(self.target)
        self.unfinished = None

    def __exit__(self, *_: object) -> None:
        if self.stream is not sys.stdout:
            self.stream.close()
        self._discard()

    def _discard(self) -> None:
        if self.unfinished is not None:
            self.unfinished.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
