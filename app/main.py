"""The entry point: the window, or a command of the command line.

Almost nothing is imported here: what a command needs, it imports when it runs, so that the
window does not wait for the command line and the command line never meets Qt.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence

SUCCESS, SOME_FAILED, WRONG_USAGE = 0, 1, 2
_FORMATS = "MusicXML, MXL, Humdrum, ABC, MEI, MIDI"
_STATUSES = "Exit status: 0 success, 1 some input failed (each is named), 2 wrong usage."


def main() -> int:
    """As ``run``, for a process of its own; gives its exit status.

    Modules and one score's results are all needed until a command ends: to look through them for
    what could be freed takes a tenth of its time, and as much again before Python ends.
    """
    gc.disable()
    status = run()
    if not gc.isenabled():
        _leave(status)
    return status


def run(arguments: Sequence[str] | None = None) -> int:
    """Do what the command line says; gives the exit status.

    Parameters
    ----------
    arguments : sequence of str or None
        Without the program's name; None for those of this process.

    Raises
    ------
    SystemExit
        After ``--help`` and ``--version`` (0), and after wrong usage (2).
    """
    options = _parser().parse_args(arguments)
    if options.command == "analyse":
        # Threads of numpy's linear algebra take longer to begin than they save here, and with
        # several jobs every processor is busy already.
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        from app.commands import analyse

        return analyse(
            options.scores, as_json=options.json, jobs=options.jobs, output=options.output
        )
    if options.command == "directions":
        from app.commands_directions import directions

        return directions(
            options.texts, from_input=options.stdin, as_json=options.json, to=options.to
        )
    if options.command == "install-desktop":
        from app.commands_desktop import install_desktop, remove_desktop

        return remove_desktop() if options.remove else install_desktop()
    from app.commands_window import open_demo, open_window

    return open_demo() if options.command == "demo" else open_window(getattr(options, "scores", ()))


def _leave(status: int) -> None:
    """End a command's process: its results are written, and the system frees all at once.

    Comes back where they can't be written, for Python to end as it does.
    """
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except (OSError, ValueError, AttributeError):
        return
    os._exit(status)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="postil",
        description="The notebook in which a pianist works a piece out. Without a command: "
        "opens the window.",
        epilog=_STATUSES,
    )
    parser.add_argument("--version", action=_Version, help="show the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    opening = commands.add_parser(
        "open",
        help="open the window on a score",
        description="Open the window on a score, on several, or on another notebook. If a window "
        "has the notebook already, it comes forward and takes the scores.",
        epilog=_STATUSES,
    )
    opening.add_argument(
        "scores",
        nargs="+",
        metavar="SCORE",
        help=f"a score file ({_FORMATS}), or one notebook (name.postil)",
    )
    text = "open the window on a copy of the sample notebook; your own is left alone"
    commands.add_parser(
        "demo", help=text, description=f"{text[0].upper()}{text[1:]}.", epilog=_STATUSES
    )
    _add_analyse(commands)
    _add_directions(commands)
    _add_install_desktop(commands)
    return parser


def _add_analyse(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    analysing = commands.add_parser(
        "analyse",
        help="say what scores are made of",
        description="Say what scores are made of: key, playing order, metre, printed directions.",
        epilog=f"A score that can't be read is named; the rest are still done. {_STATUSES}",
    )
    analysing.add_argument(
        "scores",
        nargs="+",
        metavar="SCORE|FOLDER",
        help=f"a score file ({_FORMATS}), or a folder whose scores are taken in order of name, "
        "those of its folders too; of a book of ABC tunes, each is a score (book.abc#3)",
    )
    analysing.add_argument(
        "--json", action="store_true", help="one JSON object a score, one line each"
    )
    analysing.add_argument(
        "--jobs",
        type=_positive,
        metavar="N",
        help="scores worked on at a time, each by a process (default: one a processor)",
    )
    analysing.add_argument(
        "--output", metavar="FILE", help="write there, all at once when done, instead of printing"
    )


def _add_directions(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    reading = commands.add_parser(
        "directions",
        help="say what printed directions mean",
        description="Say what printed directions mean: language, kind, abbreviations written "
        "out, translation; and which have no standard meaning.",
        epilog=_STATUSES,
    )
    reading.add_argument("texts", nargs="*", metavar="TEXT", help="a direction as it is printed")
    reading.add_argument(
        "--stdin", action="store_true", help="read directions from standard input, one a line"
    )
    reading.add_argument(
        "--json", action="store_true", help="one JSON object a direction, one line each"
    )
    reading.add_argument(
        "--to",
        choices=("en", "de", "fr", "es"),
        default="en",
        metavar="LANGUAGE",
        help="language of the translation: en (default), de, fr or es; English where a word has "
        "no rendering in it yet",
    )


def _add_install_desktop(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    installing = commands.add_parser(
        "install-desktop",
        help="add Postil to this user's desktop: menu, icon, kinds of files",
        description="Add Postil to this user's desktop, by the specifications of "
        "freedesktop.org: an entry in the menu, its icon, and the kinds of files that it opens. "
        "Nothing outside of this user's own data folder is changed.",
        epilog=_STATUSES,
    )
    installing.add_argument("--remove", action="store_true", help="take all of it away again")


def _positive(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number") from None
    if number < 1:
        raise argparse.ArgumentTypeError(f"{number} is less than 1")
    return number


class _Version(argparse.Action):
    """Looks the version up only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str | None = None) -> None:
        super().__init__(option_strings, dest=argparse.SUPPRESS, nargs=0, help=help)

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import PackageNotFoundError, version

        try:
            print(f"postil {version('postil')}")
        except PackageNotFoundError:
            print("postil (not installed; run from a checkout)")
        parser.exit()


if __name__ == "__main__":
    sys.exit(main())
