"""The pages of a window, each made when it is first opened: no start waits for them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.kept_where import Kept
    from app.pages.help_page import HelpPage
    from app.pages.page import Page
    from app.window import MainWindow


class Pages:
    """Opens pages by name."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.made: dict[str, Page] = {}
        self.kept: Kept | None = None
        """Where the notebook lies; None for one that is in no file."""

    def open(self, name: str) -> Page:
        """Show a page, and no other. Raises KeyError for a name that is none."""
        page = self.made.get(name)
        if page is None:
            page = self.made[name] = MAKERS[name](self._window)
            page.left.connect(self._window.focus_score)
        for other in self.made.values():
            if other is not page:
                other.hide()
        page.open()
        return page

    def help(self) -> HelpPage:
        """Show the help, as it was left."""
        from app.pages.help_page import HelpPage

        page = self.open("help")
        assert isinstance(page, HelpPage)
        return page

    def shut_down(self) -> None:
        """End what pages have going: the window closes."""
        for page in self.made.values():
            page.shut_down()

    def place(self) -> None:
        """Stand in the middle of the window, which has another size now."""
        for page in self.made.values():
            page.place()


def _keys(window: MainWindow) -> Page:
    from app.pages.keys_page import KeysPage

    return KeysPage(window.theme, window)


def _help(window: MainWindow) -> Page:
    from app.pages.chapters import chapters
    from app.pages.help_page import HelpPage

    return HelpPage(chapters(window.pages.kept), window.theme, window)


def _settings(window: MainWindow) -> Page:
    from app.pages.settings_page import SettingsPage

    return SettingsPage(window.theme, window.hearing.listening, window.pages.kept, window)


def _log(window: MainWindow) -> Page:
    from app.pages.log_page import LogPage

    kept = window.pages.kept
    return LogPage(None if kept is None else kept.log, window.theme, window)


def _about(window: MainWindow) -> Page:
    from app.pages.about_page import AboutPage

    return AboutPage(window.theme, window)


def _print(window: MainWindow) -> Page:
    from app.printing.print_page import PrintPage

    return PrintPage(window)


MAKERS: Mapping[str, Callable[[MainWindow], Page]] = {
    "keys": _keys,
    "help": _help,
    "settings": _settings,
    "log": _log,
    "about": _about,
    "print": _print,
}
