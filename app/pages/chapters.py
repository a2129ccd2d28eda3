"""The chapters of the help: texts in ``resources/help`` with what they name filled in.

Conventions: CommonMark. In braces stand ``{key:write}`` (an action's key as this platform writes
it), ``{name:write}`` (its name in do…), ``{path:notebook}``, ``{formats}``; a line with
``{finding:cadence}`` marks the heading above it as the one on findings of that kind. A link
is ``help:chapter`` or ``help:chapter#heading``, the heading in small letters with hyphens.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from app.desk.action_table import ACTIONS
from app.desk.reading import FORMATS
from app.desk.shortcuts import key_of
from app.kept_where import Kept
from core.resources import resources

NAMES = ("first_minutes", "findings", "sureness", "scores", "cautions")
"""In the order of the contents."""
NO_KEY = "*{}* in do…"
_PLACEHOLDER = re.compile(r"\{(\w+)(?::([\w ]*))?\}")
_MARK = re.compile(r"^\{finding:([\w ]+)\}\n", re.MULTILINE)
_HEADING = re.compile(r"^#{1,3} +(.+)$", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """One text.

    Parameters
    ----------
    name : str
        As links have it.
    title : str
        Its first heading.
    text : str
        CommonMark, all filled in.
    headings : mapping of str to str
        Kind of finding to the heading that tells of it.
    """

    name: str
    title: str
    text: str
    headings: Mapping[str, str]


def chapters(kept: Kept | None) -> tuple[Chapter, ...]:
    """All chapters; without a notebook in a file nothing is said to be kept in one."""
    return tuple(_chapter(name, kept) for name in NAMES)


def slug(heading: str) -> str:
    """A heading as links have it.

    Examples
    --------
    >>> slug("Scale, and bent degrees")
    'scale-and-bent-degrees'
    """
    return "-".join(re.findall(r"\w+", heading.casefold()))


def written(name: str) -> str:
    """A chapter as it stands in the resources."""
    return (resources() / "help" / f"{name}.md").read_text(encoding="utf-8")


def filled(text: str, kept: Kept | None) -> str:
    """A text with every placeholder filled in. Raises ValueError for one that names nothing."""
    paths = {} if kept is None else {"notebook": kept.notebook, "settings": kept.settings}
    return _PLACEHOLDER.sub(lambda found: _named(found[1], found[2] or "", paths), text)


def _chapter(name: str, kept: Kept | None) -> Chapter:
    text = written(name)
    return Chapter(
        name=name,
        title=next(_HEADING.finditer(text))[1],
        text=filled(_MARK.sub("", text), kept),
        headings=dict(_marked(text)),
    )


def _marked(text: str) -> Iterator[tuple[str, str]]:
    heading = ""
    for line in text.splitlines():
        if found := _HEADING.match(line):
            heading = found[1]
        elif found := _MARK.match(line + "\n"):
            yield found[1], heading


def _named(what: str, which: str, paths: Mapping[str, object]) -> str:
    if what == "formats":
        return FORMATS
    if what == "path":
        return str(paths.get(which, "a file in memory"))
    names = {action.id: action.name for action in ACTIONS}
    if which not in names or what not in {"key", "name"}:
        raise ValueError(f"{{{what}:{which}}} in a help text names nothing; is it an action's id?")
    if what == "name":
        return names[which]
    key = key_of(which)
    return f"**{key}**" if key else NO_KEY.format(names[which])
