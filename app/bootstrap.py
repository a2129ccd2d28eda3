"""Wires the window together: the only place in ``app`` that names concrete parts.

Nothing of weight is imported at the top: a score that is to be opened is read and engraved on
threads of its own while Qt and the store are still being imported.
"""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from app.kept_where import HOME_VARIABLE, home, kept_at, kept_in
from app.one_window import notebook_key
from app.score.head_start import HeadStart
from core.errors import PostilError, StorageError
from core.notebook.deferred_store import DeferredStore

if TYPE_CHECKING:
    from PySide6.QtCore import QSettings
    from PySide6.QtWidgets import QApplication

    from app.desk.desk_model import DeskModel
    from app.kept_where import Kept
    from app.window import MainWindow
    from core.notebook.ports import NotebookStore

SAMPLE = "barcarolle.musicxml"
SAMPLE_SENTENCE = "Sample notebook: all pieces and people are invented."
SWITCH_SECONDS = 0.001
"""How long a thread that reads may hold the interpreter while the window waits (5 ms otherwise,
at every call into Qt)."""
ICON_AFTER_MS = 1500
"""The page comes first; desktops that know Postil show its icon without being given one."""
COLLECT_AFTER_MS = 3000
"""Until then nothing is collected: importing makes much and drops little, and looking through it
again and again costs a tenth of the time to the first page (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What a window is opened with."""

    score_path: Path | None = None
    scores: tuple[Path, ...] = ()
    is_demo: bool = False
    head_start: HeadStart | None = None


def run_window(
    score_path: Path | None,
    *,
    demo: bool = False,
    scores: tuple[Path, ...] = (),
    notebook: Path | None = None,
) -> int:
    """Open the window and stay until it is closed; the exit status.

    Parameters
    ----------
    score_path : pathlib.Path or None
        A score to bring in and open.
    demo : bool
        Show the sample notebook, a copy in a temporary folder.
    scores : tuple of pathlib.Path
        Several to bring in.
    notebook : pathlib.Path or None
        The file of another notebook; None for this person's own.
    """
    sys.setswitchinterval(SWITCH_SECONDS)
    gc.disable()
    path = _sample() if demo else score_path
    head_start = HeadStart(path) if path is not None else None
    # Its start goes through the loaded modules: a thread that imports at that moment brings the
    # process down (seen with PySide6 6.11.3). The engraver, a process of its own, works already.
    import PySide6  # noqa: F401

    if head_start is not None:
        head_start.read_on()
    opening = Opening(score_path=path, scores=scores, is_demo=demo, head_start=head_start)
    if not demo:
        return _run(kept_in(home()) if notebook is None else kept_at(notebook), opening)
    import tempfile

    with tempfile.TemporaryDirectory(prefix="postil-", ignore_cleanup_errors=True) as folder:
        return _run(kept_in(Path(folder)), opening)


def build_window(
    store: NotebookStore, settings: QSettings, head_start: HeadStart | None = None
) -> MainWindow:
    """A window on a store, with its desk; closing the window lets everything but the store go."""
    from app.desk.desk_model import DeskModel
    from app.desk.remembered import Remembered
    from app.messages import Messages
    from app.screen_reader import tell_roles
    from app.theme import Theme
    from app.window import MainWindow

    tell_roles()
    theme = Theme(settings)
    desk = DeskModel(store, read=head_start.read if head_start else None)
    messages = Messages()
    window = MainWindow(
        desk,
        theme,
        messages,
        Remembered(settings),
        open_sample=open_sample,
        typesetter=head_start.typesetter if head_start else None,
    )
    for part in (theme, desk, messages):
        part.setParent(window)
    return window


def settings_in(folder: Path) -> QSettings:
    """The settings that lie beside a notebook."""
    return _settings_at(kept_in(folder).settings)


def _settings_at(path: Path) -> QSettings:
    from PySide6.QtCore import QSettings

    return QSettings(str(path), QSettings.Format.IniFormat)


def open_sample() -> None:
    """Show the sample notebook in a window of its own, which never touches this one's."""
    import subprocess

    code = "from app.bootstrap import run_window; run_window(None, demo=True)"
    checkout = str(Path(__file__).resolve().parents[1])
    path = os.pathsep.join(filter(None, (checkout, os.environ.get("PYTHONPATH"))))
    subprocess.Popen(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": path},
        start_new_session=True,
    )


def _sample() -> Path:
    from core.resources import sample_library

    return sample_library() / SAMPLE


def _application() -> QApplication:
    from PySide6.QtWidgets import QApplication

    application = QApplication.instance()
    if not isinstance(application, QApplication):
        application = QApplication(sys.argv[:1])
    application.setApplicationName("postil")
    application.setApplicationDisplayName("Postil")
    application.setDesktopFileName("postil")
    return application


def _run(kept: Kept, opening: Opening) -> int:
    application = _application()
    from app.log_file import LogFile

    folder = kept.notebook.parent
    log_file = LogFile(lambda: kept.log)
    log_file.begin()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        store = _store_in(kept.notebook, is_deferred=opening.head_start is not None)
    except OSError as error:
        return _refuse(
            f"{folder}: the folder can't be made ({error.strerror}). Choose another one with "
            f"{HOME_VARIABLE}."
        )
    except PostilError as error:
        return _refuse(str(error))
    try:
        window = _shown_window(store, kept, opening)
        status = application.exec()
        window.messages.let_go()
        with suppress(RuntimeError):
            window.deleteLater()
    finally:
        store.close()
        log_file.end()
    return status


def _shown_window(store: NotebookStore, kept: Kept, opening: Opening) -> MainWindow:
    """The window, on the screen, with what was asked for on its way."""
    from PySide6.QtCore import QTimer

    window = build_window(store, _settings_at(kept.settings), opening.head_start)
    window.messages.catch_unhandled()
    window.pages.kept = kept
    if isinstance(store, DeferredStore):
        store.tell_when_opened(lambda opened: _say_if_read_only(opened, window.desk))
    else:
        _say_if_read_only(store, window.desk)
    _begin(window, opening)
    window.show()
    # Made while nothing else is to be done, so that showing a piece doesn't stall.
    QTimer.singleShot(0, window, window.score_view)
    QTimer.singleShot(COLLECT_AFTER_MS, _collect_again)
    QTimer.singleShot(ICON_AFTER_MS, window, lambda: _set_icon(window))
    if not opening.is_demo:
        QTimer.singleShot(0, window, lambda: _listen_to_callers(window, kept))
    return window


def _set_icon(window: MainWindow) -> None:
    from PySide6.QtGui import QIcon

    from core.resources import resources

    icon = QIcon()
    for path in sorted((resources() / "icons").glob("postil-*.png")):
        icon.addFile(str(path))
    window.setWindowIcon(icon)


def _listen_to_callers(window: MainWindow, kept: Kept) -> None:
    """Take the scores of later starts, and come forward for them."""
    from app.callers import Callers, come_forward

    keys = {notebook_key(str(kept.notebook))}
    if kept == kept_in(home()):
        keys.add(notebook_key())

    def answer(paths: tuple[Path, ...], token: str) -> None:
        come_forward(window, token)
        if paths:
            window.desk.bring_in(paths)

    for key in keys:
        callers = Callers(key, window)
        callers.called.connect(answer)
        _application().lastWindowClosed.connect(callers.close)
        callers.listen()


def _store_in(path: Path, *, is_deferred: bool) -> NotebookStore:
    """The notebook's store; one that is opened later where a score is to be seen first."""

    def open_it() -> NotebookStore:
        from core.storage import open_store

        return open_store(path)

    return DeferredStore(open_it) if is_deferred else open_it()


def _say_if_read_only(store: NotebookStore, desk: DeskModel) -> None:
    """A banner where nothing can be kept; from any thread."""
    from core.storage.store import SqlNotebookStore

    if isinstance(store, SqlNotebookStore) and store.is_read_only:
        desk.notice.emit(StorageError(store.where, store.read_only_reason))


def _collect_again() -> None:
    """Collect what is made from now on; what the imports made stays, and is not looked at."""
    gc.freeze()
    gc.enable()


def _begin(window: MainWindow, opening: Opening) -> None:
    """Show the shelf, and open what was asked for or what was open last."""
    desk, last = window.desk, window.remembered.number("desk/piece")
    if opening.is_demo:
        window.shelf.say_at_the_foot(SAMPLE_SENTENCE)
        _bring_the_sample_in(window)
    head_start = opening.head_start
    if head_start is not None and opening.score_path is not None:
        window.expect_piece()
        window.score_view().first_page_shown.connect(head_start.is_seen.set)
        head_start.when_seen(desk.looked_at.emit)
        desk.bring_in([opening.score_path])
        return
    desk.reload_pieces()
    if opening.scores:
        desk.bring_in(opening.scores)
        return
    if any(piece.id == last for piece in desk.pieces):
        desk.open_piece(last)


def _bring_the_sample_in(window: MainWindow) -> None:
    """The other pieces, and all that is written about them, behind the first one."""
    from app.desk.sample import SampleNotebook
    from core.resources import sample_library

    take_judgements = window.finding_out.analysing.take_judgements
    sample = SampleNotebook(window.desk, sample_library(), take_judgements, window)
    _application().aboutToQuit.connect(sample.shut_down)


def _refuse(sentence: str) -> int:
    """Say why there is no window, where a person will read it."""
    from PySide6.QtWidgets import QMessageBox

    sys.stderr.write(sentence + "\n")
    box = QMessageBox(QMessageBox.Icon.NoIcon, "Postil", sentence)
    box.exec()
    return 1
