"""The upper half of Here: what is computed of the current place, and a person's word on it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QApplication, QLabel, QVBoxLayout, QWidget

from app.desk.turns import Turns
from app.margin.finding_view import FindingView
from app.theme import Theme
from app.tonality.findings_model import FindingsModel
from app.tonality.shown_finding import ShownFinding
from core.errors import InvalidEntryError

GAP, MARGIN = 12, 12
SHOWN_TOGETHER = 3
"""So many findings are shown at once, while others are still being made."""


class FindingsPanel(QWidget):
    """A view a finding, or a sentence while there is none."""

    step_asked = Signal(int)
    """Over the first (-1) or the last (1) finding."""
    typing_begun = Signal(object, str)
    """A remark on this ``ShownFinding`` begins with these letters."""
    shown_changed = Signal()
    """There are more views, or fewer."""

    def __init__(self, model: FindingsModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model, self._theme = model, theme
        self._views: list[FindingView] = []
        self._turns = Turns(self)
        self._state, self._left_out = QLabel(), QLabel()
        self._column = QVBoxLayout(self)
        self._lay_out()
        model.here_changed.connect(self.refresh)
        model.analysis_changed.connect(self.refresh)
        model.progress_changed.connect(self.refresh)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self.refresh()

    def refresh(self) -> None:
        """Show what the model has found."""
        shown = self._model.here
        self._turns.clear()
        self._drop_views(len(shown))
        for view, finding in zip(self._views, shown, strict=False):
            view.show_finding(finding)
        if len(self._views) < len(shown):
            self._turns.soon(self._add_next)
        else:
            self._reveal()
        state, more = self._model.state, self._model.left_out
        self._state.setText(state)
        self._state.setVisible(bool(state))
        self._left_out.setText(f"{more} more in this passage: select less of it to see them.")
        self._left_out.setVisible(more > 0)
        self.setVisible(bool(shown or state))
        self.shown_changed.emit()

    def made_views(self) -> tuple[FindingView, ...]:
        """The views that are there already; the last ones may still be on their way."""
        return tuple(self._views)

    def views(self) -> tuple[FindingView, ...]:
        """The findings shown, from the top; those still on their way are made now."""
        if len(self._views) < len(self._model.here):
            self._turns.clear()
            while len(self._views) < len(self._model.here):
                self._add_view()
            self._reveal()
            self.shown_changed.emit()
        return tuple(self._views)

    def focused_view(self) -> FindingView | None:
        """The finding that has the focus, itself or its field."""
        focused = QApplication.focusWidget()
        return next(
            (v for v in self._views if focused is v or (focused and v.isAncestorOf(focused))), None
        )

    def focused_finding(self) -> ShownFinding | None:
        """What the finding with the focus says."""
        view = self.focused_view()
        return None if view is None else view.shown

    def _lay_out(self) -> None:
        self._column.setContentsMargins(MARGIN, 0, MARGIN, 0)
        self._column.setSpacing(GAP)
        for label in (self._state, self._left_out):
            label.setProperty("role", "graphite")
            label.setWordWrap(True)
            self._column.addWidget(label)
        self.setAccessibleName("Findings")

    def _take_theme(self) -> None:
        self._state.setFont(self._theme.sans(13))
        self._left_out.setFont(self._theme.sans(11))

    def _add_view(self) -> None:
        """Make the view of the first finding that has none."""
        view = self._new_view()
        view.show_finding(self._model.here[len(self._views)])
        # Shown with the others: each that comes alone has the whole margin laid out and painted.
        view.hide()
        self._column.insertWidget(len(self._views), view)
        self._views.append(view)

    def _add_next(self) -> None:
        """One in a turn of the event loop: each takes some milliseconds."""
        self._add_view()
        is_last = len(self._views) >= len(self._model.here)
        if is_last or len(self._views) % SHOWN_TOGETHER == 0:
            self._turns.soon(self._reveal, self.shown_changed.emit)
        if not is_last:
            self._turns.soon(self._add_next)

    def _reveal(self) -> None:
        for view in self._views:
            if view.isHidden():
                view.show()

    def _drop_views(self, count: int) -> None:
        while len(self._views) > count:
            view = self._views.pop()
            if (focused := QApplication.focusWidget()) and (
                focused is view or view.isAncestorOf(focused)
            ):
                self.step_asked.emit(1)
            self._column.removeWidget(view)
            view.hide()
            view.deleteLater()

    def _new_view(self) -> FindingView:
        view = FindingView(self._theme)
        view.why_toggled.connect(lambda: self._model.toggle_why(self._index(view)))
        view.confirmed.connect(lambda: self._model.confirm(self._index(view)))
        view.withdrawn.connect(lambda: self._model.withdraw(self._index(view)))
        view.overruled.connect(lambda text: self._on_overruled(view, text))
        view.measure_asked.connect(self._model.go_to_number)
        view.step_asked.connect(lambda step: self._on_step_asked(view, step))
        view.typing_begun.connect(lambda text: self.typing_begun.emit(view.shown, text))
        return view

    def _index(self, view: FindingView) -> int:
        return self._views.index(view)

    def _on_overruled(self, view: FindingView, text: str) -> None:
        try:
            self._model.overrule(self._index(view), text)
        except InvalidEntryError as error:
            view.refuse(f"“{error.value}” can't be read: {error.rule}.")
        else:
            view.end_overruling()

    def _on_step_asked(self, view: FindingView, step: int) -> None:
        index, views = self._index(view) + step, self.views()
        if 0 <= index < len(views):
            views[index].setFocus(Qt.FocusReason.TabFocusReason)
        else:
            self.step_asked.emit(step)
